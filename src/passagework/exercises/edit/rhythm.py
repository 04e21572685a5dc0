"""Even notes in other rhythms: long and short, groups with a stop; the beats stay where they are."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.exercises.edit.retime import retime, warp_of
from passagework.exercises.exercise import DoesNotFitError
from passagework.score.notation import Notation
from passagework.score.piece import Position


@dataclass(frozen=True, slots=True)
class Pattern:
    """Shares of the time of a group that its notes take, which were equal."""

    name: str
    shares: tuple[Fraction, ...]

    @property
    def size(self) -> int:
        """Notes in a group."""
        return len(self.shares)


def _pattern(name: str, *weights: int) -> Pattern:
    return Pattern(name, tuple(Fraction(w, sum(weights)) for w in weights))


LONG_SHORT = _pattern("long-short", 3, 1)
SHORT_LONG = _pattern("short-long", 1, 3)
LONG_AND_TWO = _pattern("long, then two quick", 4, 1, 1)
TWO_AND_LONG = _pattern("two quick, then long", 1, 1, 4)
LONG_AND_THREE = _pattern("long, then three quick", 3, 1, 1, 1)
THREE_AND_LONG = _pattern("three quick, then long", 1, 1, 1, 3)

BY_SIZE: dict[int, tuple[Pattern, ...]] = {
    2: (LONG_SHORT, SHORT_LONG),
    3: (LONG_AND_TWO, TWO_AND_LONG),
    4: (LONG_SHORT, SHORT_LONG, LONG_AND_THREE, THREE_AND_LONG),
}
"""Patterns by the notes of a group, in the order in which they are practised."""


def change_rhythm(
    notation: Notation, groups: Sequence[Sequence[Position]], pattern: Pattern
) -> Notation:
    """Each group of equal notes in `pattern`. A group is the positions of its notes and of its end.

    A group of twice the pattern's size takes it twice. Raises `DoesNotFitError` for a group that is
    not a multiple of the pattern, or not of equal notes.
    """
    pairs: dict[Position, Position] = {}
    for group in groups:
        pairs.update(_placed(group, pattern))
    return retime(notation, warp_of(pairs.items()))


def _placed(group: Sequence[Position], pattern: Pattern) -> Mapping[Position, Position]:
    steps = {b - a for a, b in itertools.pairwise(group)}
    count = len(group) - 1
    if len(steps) != 1 or count % pattern.size:
        raise DoesNotFitError(f"{count} notes are no {pattern.name}")
    span = (group[-1] - group[0]) / (count // pattern.size)
    placed: dict[Position, Position] = {}
    for k, position in enumerate(group[:-1]):
        whole, inner = divmod(k, pattern.size)
        placed[position] = group[0] + span * (whole + sum(pattern.shares[:inner], Fraction(0)))
    placed[group[-1]] = group[-1]
    return placed
