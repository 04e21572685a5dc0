"""What comes back: the stretches of a row of measurements in which the same thing is done again and again.

A single departure is a breath, a slip or chance. A stretch is found as the run of measurements that gathers the most evidence: each
gives its departure less what is normal, so that ordinary playing pulls the sum down and a habit drives it up
(all maximal scoring subsequences, Ruzzo and Tompa, 1999; linear time). It must then stand three tests: often enough, nearly
always to the same side, and a mean that chance does not explain.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt
from statistics import fmean, median, pstdev

MOST = 1.0
"""One measurement counts at most so many times what is normal, that one outlier makes no habit."""

SAME_SIDE = 0.75
"""Share of a stretch that must depart to the same side."""

SURE = 3.5
"""Mean over its standard error: by chance alone once in some 4,000 stretches."""


NORMAL_MEDIAN = 0.6745
"""Median absolute deviation of a normal distribution, in standard deviations."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """Measurements `first` to `last` (both included) of a row, which depart to one side."""

    first: int
    last: int
    mean: float
    """Mean departure, with its sign."""
    spread: float
    """Standard deviation within it."""
    same: float
    """Share that departs to the same side."""

    @property
    def count(self) -> int:
        """How many measurements it holds."""
        return self.last - self.first + 1


def habits(
    row: Sequence[float], normal: float, fewest: int, least: float | None = None
) -> list[Stretch]:
    """Stretches of `row` that depart from 0 by more than is `normal`, of at least `fewest` measurements and a mean of at
    least `least` (1.25 times what is normal where it is None). In order; those of the two sides do not overlap but by chance.
    """
    found: list[Stretch] = []
    least = 1.25 * normal if least is None else least
    for sign in (1.0, -1.0):
        scores = [max(min(sign * v - normal, MOST * normal), -MOST * normal) for v in row]
        for first, last in heaviest(scores):
            stretch = _measured(row, first, last, sign)
            if stretch.count >= fewest and abs(stretch.mean) >= least and _holds(stretch):
                found.append(stretch)
    return sorted(found, key=lambda s: s.first)


def noise(row: Sequence[float]) -> float:
    """How much one measurement differs from another by chance, as a standard deviation: from the median difference of
    neighbours, which a habit that begins or ends does not raise; no more than the spread of all, which one that comes and goes
    raises less. 0 for fewer than two.
    """
    if len(row) < 2:
        return 0.0
    steps = median(abs(b - a) for a, b in pairwise(row)) / (NORMAL_MEDIAN * sqrt(2.0))
    return min(steps, pstdev(row))


def _measured(row: Sequence[float], first: int, last: int, sign: float) -> Stretch:
    part = row[first : last + 1]
    same = sum(1 for v in part if sign * v > 0) / len(part)
    return Stretch(first, last, fmean(part), pstdev(part), same)


def _holds(stretch: Stretch) -> bool:
    if stretch.same < SAME_SIDE:
        return False
    error = stretch.spread / sqrt(stretch.count)
    return abs(stretch.mean) >= SURE * error


def heaviest(scores: Sequence[float]) -> list[tuple[int, int]]:
    """All maximal scoring subsequences of `scores` as (first, last), both included, in order."""
    stack: list[tuple[int, int, float, float]] = []  # first, last, sum before it, sum up to its end
    total = 0.0
    for index, score in enumerate(scores):
        before, total = total, total + score
        if score <= 0:
            continue
        first, low, high = index, before, total
        while True:
            k = len(stack) - 1
            while k >= 0 and stack[k][2] >= low:
                k -= 1
            if k < 0 or stack[k][3] >= high:
                stack.append((first, index, low, high))
                break
            first, low = stack[k][0], stack[k][2]
            del stack[k:]
    return [(first, last) for first, last, _, _ in stack]
