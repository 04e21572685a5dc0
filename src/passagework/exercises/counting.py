"""The counting line of a polyrhythm: both numbers on the finest grid that holds them, with the count under it."""

from __future__ import annotations

from fractions import Fraction
from math import lcm

from passagework.exercises.exercise import DoesNotFitError
from passagework.exercises.made import Line, Sound, make
from passagework.exercises.taps import LEFT_KEY, RIGHT_KEY
from passagework.score.notation import Notation
from passagework.score.piece import Side, TimeSignature

LONGEST_COUNT = 24
"""Units of a grid that is still counted through (eight against three); a larger ratio is felt, not counted."""

SPOKEN = 12
"""Units that are numbered through; of more, only the parts of the smaller number are counted aloud."""


def countable(more: int, fewer: int) -> bool:
    """Whether the ratio is counted on a grid."""
    return lcm(more, fewer) <= LONGEST_COUNT


def strokes(more: int, fewer: int) -> list[tuple[int, bool, bool]]:
    """Where the two numbers strike on their common grid: unit, whether the larger, whether the smaller."""
    units = lcm(more, fewer)
    own, other = units // more, units // fewer
    places = sorted({*range(0, units, own), *range(0, units, other)})
    return [(at, at % own == 0, at % other == 0) for at in places]


def words(more: int, fewer: int) -> list[str]:
    """What is said at each stroke: ``["1", "3", "4", "5"]`` for three against two."""
    units = lcm(more, fewer)
    if units <= SPOKEN:
        return [str(at + 1) for at, _, _ in strokes(more, fewer)]
    each = units // fewer
    return [str(at // each + 1) if slow else "" for at, _, slow in strokes(more, fewer)]


def counting_line(more: int, fewer: int, side_of_more: Side, times: int = 1) -> Notation:
    """The ratio on one staff, `times` bars of it: one rhythm, the upper key for the right hand, the lower for
    the left, both where they meet. The bar has as many beats as the smaller number.

    Raises `DoesNotFitError` for a ratio whose grid is too fine to be counted.
    """
    if not countable(more, fewer):
        raise DoesNotFitError(f"{more} against {fewer} is too fine to be counted")
    units = lcm(more, fewer)
    time, unit = metre_of(units // fewer, fewer)
    rows = strokes(more, fewer)
    ends = [at for at, _, _ in rows[1:]] + [units]
    sounds = []
    for (at, quick, slow), end, word in zip(rows, ends, words(more, fewer), strict=True):
        right = quick if side_of_more == "right" else slow
        left = slow if side_of_more == "right" else quick
        keys = (*((LEFT_KEY,) if left else ()), *((RIGHT_KEY,) if right else ()))
        sounds.append(Sound(unit * (end - at), keys, word))
    return make([Line(1, (tuple(sounds),) * times)], ["G"], time)


def metre_of(each: int, beats: int) -> tuple[TimeSignature, Fraction]:
    """A metre of `beats` beats of `each` units, and the length of a unit in quarters."""
    if each in {2, 4, 8}:
        return TimeSignature((beats,), 4), Fraction(1, each)
    if each == 3:
        return TimeSignature((3 * beats,), 8), Fraction(1, 2)
    return TimeSignature((each,) * beats, 16), Fraction(1, 4)
