"""The printed value of a note: type, dots and tuplet, in quarters."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from passagework.score.markup import Element
from passagework.score.numbers import number
from passagework.score.piece import Tuplet

TYPE_QUARTERS = {
    "1024th": Fraction(1, 256),
    "512th": Fraction(1, 128),
    "256th": Fraction(1, 64),
    "128th": Fraction(1, 32),
    "64th": Fraction(1, 16),
    "32nd": Fraction(1, 8),
    "16th": Fraction(1, 4),
    "eighth": Fraction(1, 2),
    "quarter": Fraction(1),
    "half": Fraction(2),
    "whole": Fraction(4),
    "breve": Fraction(8),
    "long": Fraction(16),
    "maxima": Fraction(32),
}

MOST_DOTS = 4

MOST_IN_TUPLET = 128
"""Largest number of a tuplet believed."""


@lru_cache(maxsize=512)
def plain_value(kind: str, dots: int) -> Fraction:
    """Quarters of a note of this type with dots, without tuplet; 0 for a type that is none."""
    base = TYPE_QUARTERS.get(kind.strip(), Fraction(0))
    return base * (2 - Fraction(1, 2 ** min(dots, MOST_DOTS)))


@lru_cache(maxsize=512)
def tuplet(actual: str | None, normal: str | None) -> Tuplet | None:
    """The tuplet of a ``time-modification``; None where its numbers cannot be used or say nothing."""
    many, few = number(actual), number(normal)
    if not many or not few or many == few or many.denominator != 1 or few.denominator != 1:
        return None
    if not 0 < many <= MOST_IN_TUPLET or not 0 < few <= MOST_IN_TUPLET:
        return None
    return Tuplet(int(many), int(few))


def tuplet_of(modification: Element | None) -> Tuplet | None:
    """The tuplet that a ``time-modification`` element gives; None for None."""
    if modification is None:
        return None
    return tuplet(modification.findtext("actual-notes"), modification.findtext("normal-notes"))
