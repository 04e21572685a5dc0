"""When the damper pedal was down, to be asked often."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from passagework.listening.take import PedalHold


class PedalTimes:
    """The holds of a take, which do not overlap, by time."""

    def __init__(self, holds: Sequence[PedalHold]) -> None:
        self._holds = sorted(holds, key=lambda h: h.start)
        self._starts = [h.start for h in self._holds]
        self._ends = [h.end for h in self._holds]

    def at(self, second: float) -> PedalHold | None:
        """The hold that is down at `second`; None where the foot is up."""
        k = bisect_right(self._starts, second) - 1
        return self._holds[k] if k >= 0 and self._ends[k] > second else None

    def covers(self, start: float, end: float) -> bool:
        """Whether one hold lasts from `start` to `end` (at `start` alone where the end is earlier)."""
        hold = self.at(start)
        return hold is not None and hold.end >= end

    def any_between(self, start: float, end: float) -> bool:
        """Whether the pedal is down at any moment from `start` to `end`."""
        k = bisect_left(self._ends, start)
        return k < len(self._starts) and self._starts[k] < end
