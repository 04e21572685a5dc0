"""How a beat is divided by one hand: pairs, triplets, fours and dotted figures, with what follows them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from passagework.score.piece import Side
from passagework.spots.context import Context

SHAPES: dict[tuple[Fraction, ...], str] = {
    (Fraction(0), Fraction(1, 2)): "pair",
    (Fraction(0), Fraction(1, 3), Fraction(2, 3)): "triplet",
    (Fraction(0), Fraction(1, 4), Fraction(1, 2), Fraction(3, 4)): "four",
    (Fraction(0), Fraction(3, 4)): "dotted",
    (
        Fraction(0),
        Fraction(1, 6),
        Fraction(1, 3),
        Fraction(1, 2),
        Fraction(2, 3),
        Fraction(5, 6),
    ): "six",
}
"""Where the attacks of a figure fall, as shares of the beat."""


@dataclass(frozen=True, slots=True)
class Figure:
    """The attacks of one hand within one beat."""

    side: Side
    bar: int
    shape: str
    onset: Fraction
    length: Fraction
    notes: tuple[tuple[str, ...], ...]
    """Ids of the notes of each attack."""


def figures(context: Context, first_bar: int, last_bar: int, side: Side) -> Iterator[Figure]:
    """The figures of one hand in these bars, in order; beats that are divided otherwise are left out."""
    for index in range(first_bar, last_bar + 1):
        bar = context.bar(index)
        beat = bar.time.beat
        late = bar.time.length - bar.length if bar.pickup else Fraction(0)
        onset = bar.onset - late % beat
        while onset < bar.end:
            if onset >= bar.onset and onset + beat <= bar.end:
                row = context.attacks_between(side, onset, onset + beat)
                shape = SHAPES.get(tuple((a.onset - onset) / beat for a in row))
                if shape:
                    yield Figure(side, index, shape, onset, beat, tuple(a.ids for a in row))
            onset += beat
