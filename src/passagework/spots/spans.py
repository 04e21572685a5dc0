"""Stretches of the piece under one sign (a pedal, a slur), asked about in logarithmic time."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable

from passagework.score.piece import Position


class Spans:
    """Intervals of position; those inside a longer one are dropped, so that ends are in order."""

    def __init__(self, pairs: Iterable[tuple[Position, Position]]) -> None:
        """Take (start, end) pairs in any order."""
        self._starts: list[Position] = []
        self._ends: list[Position] = []
        for start, end in sorted(pairs, key=lambda pair: (pair[0], -pair[1])):
            if not self._ends or end > self._ends[-1]:
                self._starts.append(start)
                self._ends.append(end)

    def cover(self, start: Position, end: Position) -> bool:
        """Whether one interval holds all of `start` to `end`."""
        at = bisect_right(self._starts, start) - 1
        return at >= 0 and self._ends[at] >= end
