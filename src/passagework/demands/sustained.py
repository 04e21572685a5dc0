"""One number for a demand that rises and falls along a piece: what its hardest bars ask, and for how long.

The hardest 2, 8 and 24 bars are averaged, and the three averages are averaged; bars that are not there count 0. So a demand that
stands in one bar counts, one that is kept up counts more, and the easy bars between count nothing. Unlike a mean or a quantile of
all bars it never rises when bars or notes are taken away, which is what makes "shortened is never harder" hold for every piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from heapq import nlargest

HARDEST_BARS = (2, 8, 24)
"""A place, a line and a page of music. Our judgement."""

NAMED_BARS = 4
"""Bars that are named as those which hold the most, at the most."""


def sustained(amounts: Sequence[float]) -> float:
    """What the hardest bars ask, in the unit of `amounts` (one for each bar, 0 or more)."""
    rows = nlargest(HARDEST_BARS[-1], amounts)
    return sum(sum(rows[:k]) / k for k in HARDEST_BARS) / len(HARDEST_BARS)


def hardest_bars(amounts: Sequence[float], most: int = NAMED_BARS) -> tuple[int, ...]:
    """Indices of the bars with the largest amounts above 0, largest first, the earlier of equal ones first."""
    rows = nlargest(most, ((a, -i) for i, a in enumerate(amounts) if a > 0))
    return tuple(-i for _, i in rows)
