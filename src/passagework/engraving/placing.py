"""Where there is room: small boxes among the ink of a system."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from passagework.engraving.layout import SPACE
from passagework.engraving.system import Box, overlap

_COLUMN: Final = 4 * SPACE
"""Width of the columns into which boxes are sorted."""


class Room:
    """Boxes that are taken, sorted into columns so that asking stays cheap on a long system."""

    def __init__(self, taken: Iterable[Box] = ()) -> None:
        self._columns: dict[int, list[Box]] = {}
        for box in taken:
            self.take(box)

    def take(self, box: Box) -> None:
        """Mark `box` as taken."""
        for column in range(box[0] // _COLUMN, box[2] // _COLUMN + 1):
            self._columns.setdefault(column, []).append(box)

    def near(self, box: Box) -> Iterable[Box]:
        """Boxes taken in the columns of `box` (some of them twice)."""
        for column in range(box[0] // _COLUMN, box[2] // _COLUMN + 1):
            yield from self._columns.get(column, ())

    def free(self, box: Box) -> bool:
        """Whether `box` touches nothing taken."""
        return not any(overlap(box, other) for other in self.near(box))

    def outwards(self, box: Box, step: int, most: int) -> Box:
        """`box` moved up (`step` < 0) or down until it is free; where it was if `most` is passed."""
        moved = 0
        now = box
        while not self.free(now):
            moved += abs(step)
            if moved > most:
                return box
            now = (now[0], now[1] + step, now[2], now[3] + step)
        return now

    def reach(self, left: int, right: int, y: int, up: bool, limit: int) -> int:
        """The height that a level line from left to right must keep to clear what is near `y`.

        Looks at boxes whose middle lies between `y` and `limit` (above it if `up`).
        """
        edge = y
        for other in self.near((left, 0, right, 0)):
            if other[2] < left or other[0] > right:
                continue
            if up and limit <= (other[1] + other[3]) / 2 <= y:
                edge = min(edge, other[1])
            if not up and y <= (other[1] + other[3]) / 2 <= limit:
                edge = max(edge, other[3])
        return edge
