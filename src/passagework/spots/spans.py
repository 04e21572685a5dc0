"""Stretches of the piece under one sign (a pedal, a slur), asked about in logarithmic time."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable

from passagework.score.piece import Position, sort_key


class Spans:
    """Intervals of position; those inside a longer one are dropped, so that ends are in order."""

    def __init__(self, pairs: Iterable[tuple[Position, Position]]) -> None:
        """Take (start, end) pairs in any order."""
        self._starts: list[float] = []
        self._ends: list[float] = []
        for start, end in sorted(pairs, key=lambda pair: (pair[0], -pair[1])):
            last = sort_key(end)
            if not self._ends or last > self._ends[-1]:
                self._starts.append(sort_key(start))
                self._ends.append(last)

    def cover(self, start: Position, end: Position) -> bool:
        """Whether one interval holds all of `start` to `end`."""
        at = bisect_right(self._starts, sort_key(start)) - 1
        return at >= 0 and self._ends[at] >= sort_key(end)
