"""Cuts a span of time into note values that can be printed, tied together."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from passagework.score.values import TYPE_QUARTERS

_TYPES = {value: name for name, value in TYPE_QUARTERS.items() if value <= 4}

_VALUES = sorted(
    [(value, name, 0) for value, name in _TYPES.items()]
    + [
        (value * Fraction(3, 2), name, 1)
        for value, name in _TYPES.items()
        if value >= Fraction(1, 8)
    ],
    reverse=True,
)
"""(quarters, type, dots) of what is printed, longest first."""


@dataclass(frozen=True, slots=True)
class Value:
    """A printed value at a place in the bar; `actual` in the time of `normal` where it is a tuplet."""

    start: Fraction
    length: Fraction
    kind: str
    dots: int
    actual: int = 1
    normal: int = 1

    @property
    def end(self) -> Fraction:
        """Where it ends in the bar."""
        return self.start + self.length


def cut(start: Fraction, end: Fraction, offset: Fraction, beat: Fraction) -> list[Value]:
    """Values that fill `start` to `end` (quarters from the bar line) one after the other.

    `offset` is the bar's own position, `beat` its beat in quarters. Tuplets are written quarter by
    quarter, where an end of the span lies between the binary divisions.
    """
    values: list[Value] = []
    at = start
    while at < end:
        cell = Fraction((at + offset) // 1) - offset
        if _binary(at):
            last = end if _binary(end) else Fraction((end + offset) // 1) - offset
            if last > at:
                values += _plain(at, last, beat)
                at = last
                continue
        stop = min(end, cell + 1)
        values += _in_tuplet(at, stop, cell)
        at = stop
    return values


def _binary(position: Fraction) -> bool:
    return position.denominator & (position.denominator - 1) == 0


@lru_cache(maxsize=4096)
def _plain(start: Fraction, end: Fraction, beat: Fraction) -> tuple[Value, ...]:
    """Plain values: as few as there can be without hiding the beats."""
    values: list[Value] = []
    at = start
    while at < end:
        for length, kind, dots in _VALUES:
            if length <= end - at and _readable(at, length, dots, beat):
                values.append(Value(at, length, kind, dots))
                at += length
                break
        else:  # shorter than anything that is printed: given as the shortest there is
            values.append(Value(at, end - at, "1024th", 0))
            at = end
    return tuple(values)


def _readable(at: Fraction, length: Fraction, dots: int, beat: Fraction) -> bool:
    """Whether a value there leaves the beats to be seen: it starts on a multiple of half itself, and
    crosses a beat only from a beat (or from its middle, as syncopations are printed).
    """
    base = length * Fraction(2, 3) if dots else length
    if at % (base / 2):
        return False
    to_beat = beat - at % beat
    if to_beat == beat or length <= to_beat:
        return True
    return length <= beat and at % (beat / 2) == 0 and beat.denominator == 1


def _in_tuplet(start: Fraction, end: Fraction, cell: Fraction) -> list[Value]:
    """Values within one quarter, which begins at `cell` and is divided by an odd number."""
    odd = lcm((start - cell).denominator, (end - cell).denominator)
    while odd % 2 == 0:
        odd //= 2
    normal = 1
    while normal * 2 < odd:
        normal *= 2
    values: list[Value] = []
    at = start
    while at < end:
        step, printed = Fraction(1, odd), Fraction(1, normal)
        # The longest part that begins on a multiple of itself and still fits.
        while step * 2 <= end - at and (at - cell) % (step * 2) == 0:
            step, printed = step * 2, printed * 2
        while step > end - at or (at - cell) % step:
            step, printed = step / 2, printed / 2
        kind = _TYPES.get(printed, "1024th")
        values.append(Value(at, step, kind, 0, odd, normal))
        at += step
    return values
