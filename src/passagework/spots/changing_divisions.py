"""A line that divides one beat in one number and the next beat in another: triplets, then quavers.

Conventions
-----------
* A beat is *divided in n* when all its n equal parts are struck by one voice of one hand.
* A change counts where two neighbouring beats of the line are divided in numbers neither of which
  divides the other; from two to four every second note stays in its place, from three to two none does.
* Both hands at once in different numbers are a polyrhythm and told there.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from passagework.score.piece import Position, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    decimal,
    hand_name,
    number,
    other_places,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

MOST_PARTS = 12
"""Parts of a beat beyond which a change is not counted but swept over."""

MORE_WEIGHT, MOST_CHANGES = 0.1, 4
"""Share of the rate added for each further change in the same bar."""

STEADY_SHARE = 0.8
"""Factor where the other hand strikes both beats and so shows their length."""

ORDINARY, HARD = (1.8, 7.0), (3.4, 12.0)
"""Notes per second in the quicker of the two beats, for first-year and concert pieces."""


@dataclass(frozen=True, slots=True)
class Divided:
    """A beat that is divided evenly: where it lies, in how many parts, and its attacks."""

    bar: int
    onset: Position
    end: Position
    parts: int
    attacks: tuple[Attack, ...]


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar and pair of numbers of each line."""
    for (side, _), attacks in context.streams.items():
        rows: dict[tuple[int, int, int], list[tuple[Divided, Divided]]] = {}
        for one, other in pairwise(_beats(context, attacks)):
            clash = one.parts % other.parts and other.parts % one.parts
            if one.end == other.onset and clash:
                rows.setdefault((one.bar, one.parts, other.parts), []).append((one, other))
        for changes in rows.values():
            yield _candidate(context, side, changes)


def _beats(context: Context, attacks: Sequence[Attack]) -> Iterator[Divided]:
    """The evenly divided beats of a line, in order."""
    per_quarter = context.piece.ticks_per_quarter
    at = 0
    while at < len(attacks):
        bar = context.bar(attacks[at].bar)
        beat = bar.time.beat * per_quarter
        start = context.piece.ticks(bar.onset)
        if bar.pickup and bar.length < bar.time.length:
            start -= context.piece.ticks(bar.time.length - bar.length)
        if beat.denominator != 1:
            at += 1
            continue
        length = beat.numerator
        first = start + (attacks[at].tick - start) // length * length
        row: list[Attack] = []
        while at < len(attacks) and attacks[at].tick < first + length:
            row.append(attacks[at])
            at += 1
        if _even(row, first, length):
            onset = row[0].onset
            yield Divided(row[0].bar, onset, onset + bar.time.beat, len(row), tuple(row))


def _even(row: Sequence[Attack], first: int, length: int) -> bool:
    parts = len(row)
    if not 2 <= parts <= MOST_PARTS or any(o.kind == "tremolo" for o in row[0].notes[0].ornaments):
        return False
    return all((a.tick - first) * parts == i * length for i, a in enumerate(row))


def _candidate(
    context: Context, side: Side, changes: Sequence[tuple[Divided, Divided]]
) -> Candidate:
    one, other = changes[0]
    quick = one if one.parts > other.parts else other
    rate = quick.parts / (context.seconds(quick.end) - context.seconds(quick.onset))
    demand = rate * (1.0 + MORE_WEIGHT * min(len(changes) - 1, MOST_CHANGES))
    opposite: Side = "left" if side == "right" else "right"
    beats = [(opposite, beat.onset) in context.attack_at for beat in (one, other)]
    demand *= STEADY_SHARE if all(beats) else 1.0
    level = context.level
    return Candidate(
        one.bar,
        changes[-1][1].bar,
        side,
        tuple(dict.fromkeys(i for pair in changes for b in pair for a in b.attacks for i in a.ids)),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=f"{one.parts} to {other.parts}",
        numbers={
            "one": one.parts, "other": other.parts, "rate": rate, "changes": len(changes),
            "heard": float(all(beats)),
        },
    )  # fmt: skip


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the changes between two numbers in one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    one, other = int(worst.numbers["one"]), int(worst.numbers["other"])
    more, fewer = max(one, other), min(one, other)
    slow = tempo_words(context, at, 0.6)
    reason = (
        f"In {bars} the {hand} has {number(one)} notes to one beat and {number(other)} to the next, "
        f"{decimal(worst.numbers['rate'])} a second in the quicker one {tempo_basis(context, at)}"
    )
    reason += (
        "; the other hand strikes both beats and shows how long they are."
        if worst.numbers["heard"]
        else "; nothing in the other hand marks both beats."
    )
    return Wording(
        title=f"{capital(number(one))} to the beat, then {number(other)}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"The beat of {number(more)} is stretched to make room, or the {number(fewer)} notes are "
            f"hurried on at the speed of the {number(more)}."
        ),
        try_=(
            f"Walk or tap the beat at {slow} and speak {number(one)} and {number(other)} to it in turn, until the step does not change.",
            f"The rhythm of {bars} on one key with the {hand}, the other hand tapping the beats.",
            f"As written at {slow}, a stop on the first note of the new division; then without the stop.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)} with the metronome on the beats, the first note of every beat on its click.",
        evidence=(
            Evidence("division", worst.family),
            Evidence("rate in the quicker beat", round(worst.numbers["rate"], 1), "notes/s", tempo_source(context, at)),
            Evidence("such changes in the bar", int(worst.numbers["changes"])),
        ),
    )  # fmt: skip


KIND = Kind("changing-divisions", "changing divisions", find, describe, most=2)
