"""The pedal against the harmony: held over a change of chord, or lifted late.

Conventions
-----------
* A change of harmony asks for a change of pedal where the bass moves and a note of the chord before is foreign to the new one. Where the page marks
  one pedal over the change, or the bass stays (a pedal point), the blur is meant.
* Measured is the *overlap*: the seconds that a pedal which was down before the change stays down after its first stroke, at most as long as the
  new chord lasts. In legato pedalling the foot comes up as the new harmony is struck (Banowetz, 1985); in the concert takes the median
  overlap is 0.04 to 0.2 seconds.
* One overlap is an accident of the foot. A stretch counts in which it comes back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import fmean

from passagework.listening.beat import OwnBeat
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import habits
from passagework.listening.heard import Heard
from passagework.listening.pedalling import PedalTimes
from passagework.score.piece import sort_key
from passagework.spots.spot import Evidence
from passagework.spots.words_of import decimal, seconds

SOURCE = "the pedal comes up as the new harmony is struck (Banowetz, 1985); overlap of concert takes 0.04 to 0.2 s"

USUAL_S = 0.15
"""Seconds of overlap that nobody hears as a blur."""
TOLERANCE_S = 0.1
"""What a single change may have beyond that before it speaks for a stretch."""
LEAST_S = 0.12
"""Mean beyond `USUAL_S` from which a stretch is named."""
FEWEST = 3
"""Changes of harmony in a stretch."""
BEFORE_S = 0.05
"""The pedal was down before a change if it is down so many seconds before the first stroke."""
THROUGH = 0.7
"""Share of the new chord from which a pedal is held through rather than lifted late."""
FEWEST_THROUGH, LONG_S = 2, 0.7
"""So many changes in different bars under one pedal, each blurred for so many seconds, are named without a habit."""
SUREST = 0.3
"""Chords that the analysis is less sure of are not judged."""
APART = 3
"""Bars that a stretch may step over."""


@dataclass(frozen=True, slots=True)
class _Change:
    """A change of harmony, in a pass."""

    bar: int
    overlap: float
    lasts: float
    """Seconds of the new chord."""
    note_ids: tuple[str, ...]
    hold: float = 0.0
    """Second at which the pedal that was down before it went down; 0 for none."""


def find(heard: Heard) -> Iterable[Finding]:
    """Yield a finding for each stretch in which the pedal blurs the harmony."""
    if not heard.take.has_pedal or not heard.take.pedals:
        return
    pedal = PedalTimes(heard.take.pedals)
    asking = _asking(heard)
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        for row in _near(_measured(heard, run, beat, pedal, asking)):
            departures = [c.overlap - USUAL_S for c in row]
            told: set[int] = set()
            for stretch in habits(departures, TOLERANCE_S, FEWEST, LEAST_S):
                if stretch.mean > 0:
                    told.update(range(stretch.first, stretch.last + 1))
                    yield _finding(heard, run, row[stretch.first : stretch.last + 1])
            for first, last in _held_through(row):
                if not told.intersection(range(first, last + 1)):
                    yield _finding(heard, run, row[first : last + 1])


def _held_through(row: Sequence[_Change]) -> Iterable[tuple[int, int]]:
    """Runs of changes (first and last index) that one pedal covers whole, over a bar line: no habit is needed to hear these."""
    first = 0
    for k in range(1, len(row) + 1):
        if k < len(row) and row[k].hold and row[k].hold == row[first].hold:
            continue
        part = [c for c in row[first:k] if c.hold and c.overlap >= LONG_S]
        if len(part) >= FEWEST_THROUGH and part[0].bar < part[-1].bar:
            yield first, k - 1
        first = k


def _asking(heard: Heard) -> list[tuple[float, float, int, tuple[str, ...]]]:
    """Changes of harmony that ask for a new pedal: where, how long in quarters, the bar, the new chord's first notes."""
    piece, found = heard.piece, []
    for before, after in pairwise(heard.context.harmony.chords):
        if before.end != after.onset or min(before.confidence, after.confidence) < SUREST:
            continue
        old = {piece.by_id[i].midi % 12 for i in before.note_ids}
        new = {piece.by_id[i].midi % 12 for i in after.note_ids}
        if before.bass == after.bass or not old - new:
            continue
        if heard.context.pedalled(before.onset, after.end):
            continue
        struck = tuple(i for i in after.note_ids if piece.by_id[i].onset == after.onset)
        if struck:
            at = sort_key(after.onset)
            length = sort_key(after.end) - at
            found.append((at, length, piece.by_id[struck[0]].bar, struck))
    return found


def _measured(
    heard: Heard,
    run: int,
    beat: OwnBeat,
    pedal: PedalTimes,
    asking: Sequence[tuple[float, float, int, tuple[str, ...]]],
) -> list[_Change]:
    struck = heard.struck[run]
    found = []
    for at, length, bar, ids in asking:
        onsets = [struck[i].onset for i in ids if i in struck]
        if not onsets:
            continue
        first = min(onsets)
        lasts = max(beat.seconds(at + length) - beat.seconds(at), 0.05)
        hold = pedal.at(first - BEFORE_S)
        overlap = min(max(hold.end - first, 0.0), lasts) if hold is not None else 0.0
        found.append(_Change(bar, overlap, lasts, ids, hold.start if hold is not None else 0.0))
    return found


def _near(row: Sequence[_Change]) -> Iterable[Sequence[_Change]]:
    start = 0
    for k in range(1, len(row) + 1):
        if k == len(row) or row[k].bar - row[k - 1].bar > APART:
            yield row[start:k]
            start = k


def _finding(heard: Heard, run: int, row: Sequence[_Change]) -> Finding:
    first, last = row[0].bar, row[-1].bar
    overlap = fmean(c.overlap for c in row)
    through = fmean(c.overlap / c.lasts for c in row)
    bars = heard.context.bar_names(range(first, last + 1))
    if through >= THROUGH:
        reason = f"In {bars} the pedal is held through {len(row)} changes of harmony: the chords run into one another."
        advice = "Play the bass and the chords alone and lift the pedal with each new bass; listen for the moment at which only the new chord sounds."
    else:
        reason = (
            f"In {bars} the pedal comes up late: {seconds(overlap)} after the new harmony on average, "
            f"{len(row)} times; the old chord sounds into the new one."
        )
        advice = "Say 'up' aloud with each new bass note and lift at that word, then put the pedal down again just after the sound."
    return Finding(
        "pedal",
        first,
        last,
        "both",
        tuple(dict.fromkeys(i for c in row for i in c.note_ids)),
        (
            Evidence("pedal after the change", float(decimal(overlap, 2)), "s", SOURCE),
            Evidence("share of the new chord", round(100 * through), "%"),
            Evidence("changes of harmony", len(row)),
        ),
        reason,
        advice,
        min(0.55 + 0.3 * through + 0.02 * len(row), 0.92),
        min(0.3 + 0.3 * through + 0.02 * len(row), 0.8),
        (run,),
        (),
        ("harmony",),
    )


KIND = FindingKind("pedal", "pedal", find)
