"""The same key, or the same chord, struck again and again.

Conventions
-----------
* A row is at least `SHORTEST` attacks of one voice that strike exactly the same keys, evenly spaced.
  A staccato written with rests counts, as long as the attacks are even.
* The limit is set by the key before the finger: a grand's action repeats at some 12 to 15 times a
  second, an upright's at 7 to 9 (the makers' figures), since the key must come up far enough first.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import log2

from passagework.score.piece import Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.runs import Run, even_runs
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
"""Attacks of the shortest row that is felt as repetition."""

SHORTEST_QUICK = 3
"""Three are enough where they are quick (`QUICK_RATE`): a group of triplets on one key."""

QUICK_RATE = 5.0
"""Attacks per second from which one finger alone is uneven for most players."""

CHORD_WEIGHT, LENGTH_WEIGHT = 1.2, 0.06
"""Factor of a chord against a single note; share added for each doubling of the length."""

SOFT = {"p": 1.05, "pp": 1.15, "ppp": 1.2}
"""Factor in soft playing: a key that has not come up does not speak."""

UPRIGHT_LIMIT = 7.0
"""Repetitions per second beyond which an upright piano may not answer."""

ORDINARY, HARD = (2.2, 5.5), (4.0, 9.0)
"""Attacks per second, for first-year and concert pieces."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each row of repetitions, cut at the bar lines where it is long."""
    seen: set[str] = set()
    for attacks in context.streams.values():
        for run in even_runs(context, attacks, _plain, _same, SHORTEST_QUICK):
            if len(run) < SHORTEST and run.rate < QUICK_RATE:
                continue
            if run.attacks[0].low.id in seen:
                continue
            seen.add(run.attacks[0].low.id)
            for row in _rows(run):
                yield _candidate(context, run, row)


def _plain(attack: Attack) -> bool:
    return not any(o.kind == "tremolo" for n in attack.notes for o in n.ornaments)


def _same(one: Attack, other: Attack) -> bool:
    return one.midis == other.midis


def _rows(run: Run) -> list[tuple[Attack, ...]]:
    """The run in pieces of no more than two bars."""
    rows: list[list[Attack]] = []
    for attack in run.attacks:
        if not rows or attack.bar > rows[-1][0].bar + 1:
            rows.append([])
        rows[-1].append(attack)
    if len(rows) > 1 and len(rows[-1]) < 2:
        rest = rows.pop()
        rows[-1] += rest
    return [tuple(row) for row in rows]


def _candidate(context: Context, run: Run, row: tuple[Attack, ...]) -> Candidate:
    chord = len(set(row[0].midis)) > 1
    sign = context.dynamic_at(row[0].onset)
    demand = run.rate * (1.0 + LENGTH_WEIGHT * log2(len(run) / SHORTEST_QUICK))
    demand *= (CHORD_WEIGHT if chord else 1.0) * SOFT.get(sign, 1.0)
    level = context.level
    other: Side = "left" if run.side == "right" else "right"
    busy = context.attacks_between(other, row[0].onset, row[-1].onset)
    names = [note_name(n.pitch) for n in row[0].notes]
    return Candidate(
        row[0].bar,
        row[-1].bar,
        run.side,
        tuple(i for a in row for i in a.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family="chords" if chord else "notes",
        numbers={"rate": run.rate, "count": len(row), "run": len(run), "other": len(busy)},
        facts={
            "keys": listed(names) if len(names) < 3 else f"{names[0]} to {names[-1]}",
            "sign": sign if sign in SOFT else "",
            "fingers": _fingers(row),
        },
    )


def _fingers(row: Sequence[Attack]) -> str:
    """The printed fingers of the repeated note, ``""`` where fewer than three are printed."""
    printed = [str(a.low.fingers[0]) for a in row if len(a.notes) == 1 and a.low.fingers]
    return " ".join(printed[:6]) if len(printed) >= 3 else ""


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for repetitions in one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    numbers, keys = worst.numbers, worst.facts["keys"]
    amount, chord = int(numbers["run"]), worst.family == "chords"
    quick = numbers["rate"] >= QUICK_RATE
    what = f"the chord {keys}" if chord else keys
    reason = f"The {hand} strikes {what} {amount if amount > 12 else counted(amount, 'time')}{' times' if amount > 12 else ''} in a row from {context.bar_names([worst.first_bar])} on, {decimal(numbers['rate'])} a second {tempo_basis(context, at)}"
    reason += f", in {worst.facts['sign']}" if worst.facts["sign"] else ""
    reason += (
        f", against {counted(int(numbers['other']), 'attack')} of the other hand."
        if numbers["other"]
        else "."
    )
    if numbers["rate"] > UPRIGHT_LIMIT:
        reason += " An upright piano may not answer so fast."
    if chord:
        first = f"Let the hand bounce: one fall of the arm for every two attacks of {what}, then for every {'three' if amount % 3 == 0 else 'four'}."
    elif worst.facts["fingers"]:
        first = f"Change fingers as printed ({worst.facts['fingers']}), each drawing off towards the palm so that {keys} can come up."
    elif quick:
        first = f"Change fingers on every stroke of {keys}, 3 2 1 or 4 3 2 1, each drawing off towards the palm so that the key can come up."
    else:
        first = f"Keep one finger on {keys} and let the key come up only as far as it must; the wrist stays loose."
    return Wording(
        title=f"{'Repeated chords' if chord else 'Repeated notes'} in the {hand}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"The forearm tires, and the inner notes of {what} thin out."
            if chord
            else f"Some strokes of {keys} do not speak, or the row speeds up as the {counted(min(amount, 12), 'note')} go by."
        ),
        try_=(
            first,
            f"With a stop after every {'third' if amount % 3 == 0 else 'fourth'} stroke, the stop shorter each time, at {tempo_words(context, at, 0.6)}.",
            "Shape the row: a small swell to the note it leads to, so that no two strokes are alike." if not worst.facts["sign"] else f"In mf first; then in {worst.facts['sign']} with the finger never leaving the key.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.95)}, every one of the {int(numbers['count'])} strokes heard and the arm loose.",
        evidence=(
            Evidence("rate", round(numbers["rate"], 1), "attacks/s", tempo_source(context, at)),
            Evidence("attacks in a row", amount),
            Evidence("attacks of the other hand meanwhile", int(numbers["other"])),
        ),
    )  # fmt: skip


KIND = Kind("repeated-notes", "repeated notes", find, describe)
