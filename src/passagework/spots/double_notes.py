"""Thirds, sixths, fourths and other double notes in succession in one hand.

Conventions
-----------
* A run is at least `SHORTEST` attacks of exactly two keys, equally spaced, no rest between, in which
  the two keys change; a chord struck again is a repeated note and told there, octaves are told there.
* The *sort* is the interval by its letters (thirds, sixths ...) that makes up three quarters of the run.
* Legato (a slur over the pairs, or no staccato where no slur is drawn) asks for fingers that hold and
  let go in pairs; detached double notes come from the wrist and are easier.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from functools import partial
from itertools import pairwise
from math import log2

from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.runs import Run, by_bar, even_runs, joined
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    listed,
    note_name,
    other_places,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

SHORTEST = 4
"""Pairs of the shortest succession."""

INTERVALS = {1: "seconds", 2: "thirds", 3: "fourths", 4: "fifths", 5: "sixths", 6: "sevenths"}
"""Names by the steps between the letters."""

SORT_SHARE = 0.75
"""Share of the pairs that gives the succession its name."""

LEGATO, DETACHED = 1.15, 0.8
"""Factors: under a slur, and with staccato dots. Our judgement."""

WEIGHTS = {"thirds": 1.1, "fourths": 1.1, "sixths": 1.0, "seconds": 1.1}
"""Thirds and fourths at speed ask more of the fingers than wider pairs, which the arm helps."""

LENGTH_WEIGHT = 0.06
"""Share of the rate added for each doubling of the length beyond `SHORTEST`."""

ORDINARY, HARD = (0.8, 3.2), (1.6, 5.5)
"""Pairs per second, for first-year and concert pieces: about half of what single notes reach."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar of each succession."""
    sides: tuple[Side, Side] = ("left", "right")
    reach = context.hand.largest_mm
    for side in sides:
        attacks = context.attacks[side]
        for run in even_runs(context, attacks, partial(_is_pair, reach), _moves, SHORTEST):
            for row in _bars(run):
                yield _candidate(context, run, row)


def _is_pair(reach: float, attack: Attack) -> bool:
    """Two keys that one hand can strike together and that are not an octave."""
    if len(set(attack.midis)) != 2 or _steps(attack) in (0, 7):
        return False
    return distance_mm(attack.midis[0], attack.midis[-1]) <= reach


def _moves(one: Attack, other: Attack) -> bool:
    return one.midis != other.midis and joined(one, other)


def _steps(attack: Attack) -> int:
    return attack.high.pitch.diatonic - attack.low.pitch.diatonic


def _bars(run: Run) -> list[tuple[Attack, ...]]:
    rows = by_bar(run)
    if len(rows) > 1 and len(rows[-1]) < 2:
        rows[-2:] = [(*rows[-2], *rows[-1])]
    if len(rows) > 1 and len(rows[0]) < 2:
        rows[:2] = [(*rows[0], *rows[1])]
    return rows


def sort_of(attacks: Sequence[Attack]) -> str:
    """``"thirds"``, ``"sixths"`` ..., ``"double notes"`` where no interval prevails."""
    counts = Counter(INTERVALS.get(_steps(a), "wide pairs") for a in attacks)
    name, amount = counts.most_common(1)[0]
    return name if amount >= SORT_SHARE * len(attacks) else "double notes"


def _candidate(context: Context, run: Run, row: tuple[Attack, ...]) -> Candidate:
    sort = sort_of(run.attacks)
    first, last = row[0], row[-1]
    slurred = context.slurred(first.low.staff, first.onset, last.onset)
    dots = sum("staccato" in n.articulations for a in row for n in a.notes) >= len(row)
    demand = run.rate * (1.0 + LENGTH_WEIGHT * log2(len(run) / SHORTEST))
    demand *= WEIGHTS.get(sort, 1.0) * (LEGATO if slurred else DETACHED if dots else 1.0)
    level = context.level
    return Candidate(
        first.bar,
        last.bar,
        run.side,
        tuple(i for a in row for i in a.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=sort,
        numbers={"rate": run.rate, "pairs": len(row), "run": len(run)},
        facts={
            "touch": "legato" if slurred else "staccato" if dots else "",
            "first": listed([note_name(n.pitch) for n in (first.low, first.high)]),
            "last": listed([note_name(n.pitch) for n in (last.low, last.high)]),
            "way": _way(row),
        },
    )


def _way(row: Sequence[Attack]) -> str:
    moves = [b.high.midi - a.high.midi for a, b in pairwise(row)]
    if moves and all(m >= 0 for m in moves):
        return "upwards"
    return "downwards" if moves and all(m <= 0 for m in moves) else "up and down"


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for double notes of one sort."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    pairs, touch = int(worst.numbers["pairs"]), worst.facts["touch"]
    melody = "upper"
    reason = (
        f"The {hand} plays {counted(pairs, 'pair')} of {worst.family if worst.family in INTERVALS.values() else 'notes'} "
        f"{worst.facts['way']} in {bars}, from {worst.facts['first']} to {worst.facts['last']}, {decimal(worst.numbers['rate'])} pairs a second {tempo_basis(context, at)}"
    )
    reason += {"legato": ", under a slur.", "staccato": ", with dots.", "": "."}[touch]
    if worst.numbers["run"] > pairs:
        reason += f" The succession has {int(worst.numbers['run'])} pairs in all."
    return Wording(
        title=f"{capital(worst.family)} in the {hand}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            "The two notes of a pair do not sound together, and the line breaks where the hand has no finger left to hold on with."
            if touch != "staccato"
            else f"The wrist stiffens before the {counted(pairs, 'pair')} are over, and one note of a pair drops out."
        ),
        try_=(
            f"The {melody} line of {bars} alone with the fingers it will have in the pairs, then the lower line alone.",
            "Hold one line and play the other short, then the other way round." if touch != "staccato" else "Drop into each pair from a loose wrist, with a stop after every second pair.",
            f"All pairs, two at a time with a stop, then four, from {tempo_words(context, at, 0.5)} up.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)}, all {counted(pairs, 'pair')} sounding as one, the {melody} line {'unbroken' if touch != 'staccato' else 'clear'}, and the forearm as loose as at the start.",
        evidence=(
            Evidence("rate", round(worst.numbers["rate"], 1), "pairs/s", tempo_source(context, at)),
            Evidence("pairs in the whole succession", int(worst.numbers["run"])),
            Evidence("interval", worst.family),
            Evidence("touch", touch or "not marked"),
        ),
    )  # fmt: skip


KIND = Kind("double-notes", "double notes", find, describe)
