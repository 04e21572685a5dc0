"""The same note of the chord that does not sound, chord after chord: the top, the bottom, or one inside.

The chords of a hand (attacks of two notes or more; three for an inner one) are walked in order, and a stretch is found that gathers
most chords without the note against those with it: `FEWEST` of them, `SHARE` of the stretch. A chord of which nothing
sounded says nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from itertools import pairwise

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.patterns import Pattern, heaviest_runs, over_passes
from passagework.listening.findings.slip_words import how_often, passes_over
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.score.piece import Side
from passagework.spots.context import Attack
from passagework.spots.spot import Evidence
from passagework.spots.words_of import number

FEWEST = 4
"""Chords without the note that make a habit."""
SHARE = 0.75
"""Share of the stretch's chords that lack it."""
APART = 2
"""Bars between two such chords up to which they are one habit: single notes that fail here and there are none."""

NAMES = {"top": "the highest note", "bottom": "the lowest note", "inner": "an inner note"}
SOURCE = "written chords of the hand against the keys struck"


def pick(heard: Heard, slips: Sequence[Slip]) -> list[Pattern]:
    """The missing notes that stand in the same place of several chords; those of several passes together."""
    rows: dict[tuple[int, Side], dict[str, Slip]] = defaultdict(dict)
    for slip in slips:
        if slip.kind == "missing" and slip.note is not None:
            rows[slip.run, slip.note.hand][slip.note.id] = slip
    found: list[Pattern] = []
    for (run, side), gone in rows.items():
        if len(gone) >= FEWEST:
            found += _of_hand(heard, run, side, gone)
    return over_passes(found)


def _of_hand(heard: Heard, run: int, side: Side, gone: dict[str, Slip]) -> list[Pattern]:
    struck = heard.struck[run]
    bars = {s.bar for s in gone.values()}
    near = {b for bar in bars for b in (bar - 1, bar, bar + 1)}
    chords = [
        a
        for a in heard.context.attacks[side]
        if a.bar in near and len(a.notes) > 1 and any(n.id in struck for n in a.notes)
    ]
    found: list[Pattern] = []
    told: set[str] = set()
    for place in ("bottom", "top", "inner"):
        having = [a for a in chords if _members(a, place)]
        lacking = [[i for i in _members(a, place) if i in gone and i not in told] for a in having]
        for first, last in heaviest_runs([1.0 if ids else -1.0 for ids in lacking]):
            stretch = lacking[first : last + 1]
            count = sum(bool(ids) for ids in stretch)
            mine = [i for ids in stretch for i in ids]
            close = all(b - a <= APART for a, b in pairwise(gone[i].bar for i in mine))
            if count >= FEWEST and count >= SHARE * len(stretch) and close:
                found.append(Pattern(place, tuple(gone[i] for i in mine), len(stretch)))
                told.update(mine)
    return found


def _members(attack: Attack, place: str) -> tuple[str, ...]:
    ids = attack.ids
    if len(set(attack.midis)) < len(ids):
        return ()
    return {"bottom": ids[:1], "top": ids[-1:], "inner": ids[1:-1]}[place]


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each stretch of chords that lack the same note."""
    for pattern in heard.slips.dropped:
        bars = heard.context.bar_names(range(pattern.first_bar, pattern.last_bar + 1))
        passes = passes_over(heard, pattern.first_bar, pattern.last_bar, pattern.hand)
        chords = len({(s.run, s.note.onset) for s in pattern.slips if s.note})
        name = NAMES[pattern.key]
        yield Finding(
            "dropped-note",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("chords without it", chords, "", SOURCE),
                Evidence("chords in that stretch", pattern.of),
                Evidence("passes with it", len(pattern.runs)),
            ),
            f"In {bars} {name} of the {pattern.hand} hand's chords does not sound in {number(chords)} of {number(pattern.of)}"
            f"{how_often(len(pattern.runs), passes)}.",
            _advice(pattern, bars, name),
            min(0.5 + 0.08 * chords, 0.95) * pattern.sure,
            min(0.4 + 0.05 * chords + 0.1 * (len(pattern.runs) - 1), 0.95),
            pattern.runs,
            pattern.played,
            ("double-notes", "stretch", "soft-playing"),
        )


def _advice(pattern: Pattern, bars: str, name: str) -> str:
    finger = "the weaker fingers" if pattern.key != "inner" else "the middle fingers"
    return (
        f"In {bars} play {name} of every chord alone and listen to it, then the whole chords slowly, leaning on {finger} "
        "until each note is heard. If the stretch is uncomfortable, stop and ask for another fingering or a note left out on purpose."
    )


KIND = FindingKind("dropped-note", "the same chord note dropped", find)
