"""Articulation: legato lines let go too early, staccato notes held.

Conventions
-----------
* *Legato* is measured as the gap between the release of a key and the stroke of the next note of the same voice, as a share of the time between
  the two strokes (0 or less: joined; the key detached ratio of Repp, 1995). Only where the page asks for it: under a slur or after a
  word such as *legato*.
* *Staccato* is measured as the share of its written time that a key is down.
* Where the pedal is down over the gap the ear hears no gap, and nothing is measured.
* A single gap is a breath. A stretch counts in which it happens again and again.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import habits
from passagework.listening.heard import Heard
from passagework.listening.pedalling import PedalTimes
from passagework.listening.simulate.touch import Touches
from passagework.score.piece import Note, Side, sort_key
from passagework.spots.context import is_plain
from passagework.spots.spot import Evidence
from passagework.spots.words_of import hand_name

SOURCE = "gap before the next stroke as a share of the time between strokes (Repp, 1995)"

JOINED = 0.08
"""Share of the time between two strokes that may be silent in a legato: some tens of milliseconds at ordinary speed."""
GAP_NORMAL = 0.1
"""What a single gap may have beyond that before it speaks for a stretch."""
GAP_LEAST = 0.17
"""Mean beyond `JOINED` from which a stretch is heard as detached: a quarter of the time silent."""
SHORT = 0.6
"""Share of its time that a staccato note may be held: methods teach a half."""
HELD_NORMAL = 0.2
HELD_LEAST = 0.25
"""Beyond `SHORT`: for a single note, and for a stretch on the mean."""
FEWEST = 5
"""Notes of a stretch."""
FEWEST_BARS = 2
"""Bars that a stretch begins and ends in: within one bar a player may mean it so."""
APART = 1
"""Bars that a stretch may step over."""
LONGEST_S = 1.5
"""Seconds between two strokes from which a gap is no matter of legato."""


@dataclass(frozen=True, slots=True)
class _Touch:
    """One note with its departure from what is asked, and the plain number that is told."""

    note: Note
    played: int
    departure: float
    share: float


def find(heard: Heard) -> Iterable[Finding]:
    """Yield a finding for each stretch whose touch is not what the page asks for."""
    touches = Touches(heard.context)
    pedal = PedalTimes(heard.take.pedals)
    for run in range(len(heard.alignment.passes)):
        voices: dict[tuple[Side, str], list[tuple[Note, int]]] = defaultdict(list)
        for match in heard.alignment.by_pass[run]:
            note = heard.note(match)
            if is_plain(note):
                voices[note.hand, note.voice].append((note, match.played))
        for (hand, _), row in sorted(voices.items()):
            row.sort(key=lambda pair: (sort_key(pair[0].onset), pair[0].midi))
            for legato in (True, False):
                found = _measured(heard, row, touches, pedal, legato)
                yield from _findings(heard, run, hand, found, legato)


def _measured(
    heard: Heard,
    row: Sequence[tuple[Note, int]],
    touches: Touches,
    pedal: PedalTimes,
    legato: bool,
) -> list[_Touch]:
    """The notes of a voice that are to be joined (or short), and can be judged, in order."""
    wanted = {"legato"} if legato else {"staccato", "staccatissimo"}
    found = []
    for chord, after in pairwise(_attacks(row)):
        note, played = chord[-1]
        following = heard.take.notes[after[-1][1]]
        stroke = heard.take.notes[played]
        between = following.onset - stroke.onset
        if touches.of(note) not in wanted or not 0.03 < between < LONGEST_S:
            continue
        if legato:
            if sort_key(note.end) != sort_key(after[-1][0].onset):
                continue
            if after[-1][0].midi == note.midi or pedal.any_between(stroke.end, following.onset):
                continue
            gap = (following.onset - stroke.end) / between
            found.append(_Touch(note, played, gap - JOINED, gap))
        else:
            beats = sort_key(after[-1][0].onset) - sort_key(note.onset)
            asked = between * min(sort_key(note.duration) / beats, 1.0)
            if pedal.covers(stroke.onset + SHORT * asked, stroke.end):
                continue
            held = stroke.duration / asked
            found.append(_Touch(note, played, held - SHORT, min(held, 1.5)))
    return found


def _attacks(row: Sequence[tuple[Note, int]]) -> list[list[tuple[Note, int]]]:
    """The notes of a voice by their onset."""
    found: list[list[tuple[Note, int]]] = []
    for note, played in row:
        if found and found[-1][0][0].onset == note.onset:
            found[-1].append((note, played))
        else:
            found.append([(note, played)])
    return found


def _findings(
    heard: Heard, run: int, hand: Side, row: Sequence[_Touch], legato: bool
) -> Iterable[Finding]:
    normal, least = (GAP_NORMAL, GAP_LEAST) if legato else (HELD_NORMAL, HELD_LEAST)
    for near in _together(row):
        departures = [t.departure for t in near]
        for stretch in habits(departures, normal, FEWEST, least):
            part = near[stretch.first : stretch.last + 1]
            if stretch.mean > 0 and part[-1].note.bar - part[0].note.bar + 1 >= FEWEST_BARS:
                yield _finding(heard, run, hand, part, legato)


def _together(row: Sequence[_Touch]) -> Iterable[Sequence[_Touch]]:
    """`row` in parts between which more than `APART` bars hold nothing that can be judged."""
    start = 0
    for k in range(1, len(row) + 1):
        if k == len(row) or row[k].note.bar - row[k - 1].note.bar > APART:
            yield row[start:k]
            start = k


def _finding(heard: Heard, run: int, hand: Side, row: Sequence[_Touch], legato: bool) -> Finding:
    first, last = min(t.note.bar for t in row), max(t.note.bar for t in row)
    bars = heard.context.bar_names(range(first, last + 1))
    share = fmean(t.share for t in row)
    who = hand_name(hand)
    if legato:
        evidence = Evidence(
            "silence between the notes", round(100 * share), "% of their time", SOURCE
        )
        reason = (
            f"In {bars} the {who} lets the notes of the slur go early: on average "
            f"{100 * share:.0f} per cent of the time to the next note is silent."
        )
        advice = "Hold each finger until the next one has sounded, slowly and a little too long, then let the overlap shrink to nothing."
    else:
        evidence = Evidence(
            "time the keys are held", round(100 * share), "% of the written time", SOURCE
        )
        reason = (
            f"In {bars} the notes with dots are held in the {who}: on average for "
            f"{100 * share:.0f} per cent of their time, where about half is asked for."
        )
        advice = "Play the passage with each note as short as you can, listen to the silence after it, then find the length you want."
    size = fmean(t.departure for t in row)
    return Finding(
        "articulation",
        first,
        last,
        hand,
        tuple(t.note.id for t in row),
        (evidence, Evidence("notes measured", len(row))),
        reason,
        advice,
        min(0.55 + 0.4 * size + 0.01 * len(row), 0.92),
        min(0.25 + 0.5 * size + 0.01 * (last - first), 0.7),
        (run,),
        tuple(t.played for t in row),
        ("two-voices", "passagework") if legato else ("repeated-notes", "passagework"),
    )


KIND = FindingKind("articulation", "legato and staccato", find)
