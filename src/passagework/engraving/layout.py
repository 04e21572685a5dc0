"""Sizes: how wide the page is, how large the music, and the units everything here is drawn in.

Units
-----
The music is drawn in *units* of a sixtieth of a staff space, so that lines and spaces of a staff
fall on whole numbers (`SPACE` is 60, half a space 30). `Layout.mm` turns units into millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

SPACE: Final = 60
"""Units between two lines of a staff."""

STAFF: Final = 4 * SPACE
"""Units from the lowest to the highest line of a staff."""

PER_UNIT: Final = 3
"""Coordinates of the engraver to one unit: it draws a staff space as 180."""

ENGRAVER_STAFF: Final = 72
"""Height of a staff on the engraver's page, in the unit of its page width."""

RIGHT: Final = 3 * ENGRAVER_STAFF // 8
"""Paper to the right of a system, a space and a half, so that a ring may pass its last bar line."""


@dataclass(frozen=True, slots=True)
class Layout:
    """A page for music: all lengths in millimetres.

    `staff_mm` is the height of a five-line staff. Piano music is printed with staves of 6.5 to 7 mm
    and read from half a metre; 7.6 mm is the size of a first-year book and can be read from further.
    """

    width_mm: float = 180.0
    """Whole width, the margin for pencilled numbers included."""
    staff_mm: float = 7.2
    margin_mm: float = 11.0
    """Room to the left of the systems for the numbers; 0 for an excerpt without any."""
    justify_last: bool = True
    """Stretch the last system to the full width where it nearly fills it."""

    @property
    def mm(self) -> float:
        """Millimetres to a unit."""
        return self.staff_mm / STAFF

    @property
    def music_width(self) -> int:
        """Width of the systems on the engraver's page, in its own unit."""
        wide = (self.width_mm - self.margin_mm) * ENGRAVER_STAFF / self.staff_mm - RIGHT
        return max(300, min(100_000, round(wide)))

    @property
    def units(self) -> int:
        """Whole width in units."""
        return round(self.width_mm / self.mm)
