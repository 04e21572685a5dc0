"""What a placement says in words: why a piece stands where it does."""

from __future__ import annotations

from passagework.demands.descriptors import descriptor
from passagework.demands.levels import Reason

UNITS = {
    "1/s": " a second",
    "per bar": " a bar",
    "white keys": " white keys",
    "white keys/s": " white keys a second",
    "share of the reach": " times the reach",
    "bits": " parts",
}

PARTS_OF_BITS = "bits"
"""The fineness of a grid is measured in bits and told as the parts that it has."""


def reason_sentence(reason: Reason, bars: str = "", *, graded: bool = True) -> str:
    """One sentence for a reason; `bars` are the bars that hold the most, in words.

    ``"Notes struck together in one hand: 2.4 a second, where 0.6 are usual among the graded pieces; most in bars 12 and 14."``
    """
    row = descriptor(reason.demand)
    among = "among the graded pieces" if graded else "half-way between first-year and concert music"
    told = (reason.value, reason.usual)
    if row.unit == PARTS_OF_BITS:
        told = (2.0**reason.value, 2.0**reason.usual)
    value, usual = map(figure, told)
    if value == usual:
        value, usual = (figure(number, 2) for number in told)
    verb = "is" if graded else "stands"
    usually = f"where {usual} {verb} {'usual ' if graded else ''}{among}"
    text = f"{row.title[0].upper()}{row.title[1:]}: {value}{UNITS.get(row.unit, '')}, {usually}"
    return f"{text}; most in {bars}." if bars and reason.points > 0 else f"{text}."


def figure(value: float, decimals: int = 1) -> str:
    """A number without decimals that say nothing: ``"12"``, ``"0.4"``."""
    text = f"{value:.{decimals}f}" if abs(value) < 100 else f"{value:.0f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def ranked_only(graded: int, fewest: int, levels: int) -> str:
    """Why there is no level."""
    if graded >= fewest and levels < 2:
        return "ranked only: the graded pieces are all of one level, and a scale needs two"
    counted = {0: "no piece is graded", 1: "one graded piece is too few"}
    said = counted.get(graded, f"{graded} graded pieces are too few")
    return f"ranked only: {said}; from {fewest} on, pieces are given levels"
