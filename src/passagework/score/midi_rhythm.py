"""Times of a MIDI file to exact positions: each cell of the metre gets the division that fits it best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.score.midi_beats import ROUNDING, Clock

TYPED_DIVISIONS = (
    1,
    2,
    4,
    3,
    8,
    6,
    16,
    5,
    12,
    7,
    9,
    10,
    11,
    13,
    14,
    15,
    32,
    24,
    17,
    18,
    19,
    20,
    22,
)
"""Divisions of a quarter that are tried on typed notes, plain ones first."""

PLAYED_COST = {1: 0.0, 2: 0.4, 4: 1.1, 3: 1.4, 6: 3.0, 8: 3.5, 5: 4.5}
"""Divisions tried on played notes, and what each must earn by fitting better."""

PLAYED_SCATTER = 0.07
"""Quarters by which played onsets scatter about their place: 35 ms at a beat of half a second
(Repp, "Sensorimotor synchronization", Psychonomic Bulletin & Review 12, 2005, reports 20 to 40)."""


@dataclass(frozen=True)
class Grid:
    """The division of every quarter, and with it the place of every time."""

    divisions: dict[int, int]
    """Parts of the quarter by its number from the start; quarters without onsets are not named."""

    def place(self, quarters: float) -> Fraction:
        """The nearest position of the grid."""
        cell = int(quarters // 1)
        parts = self.divisions.get(cell, 1)
        return cell + Fraction(round((quarters - cell) * parts), parts)


def fit_grid(onsets: Sequence[float], clock: Clock) -> Grid:
    """The divisions that fit `onsets`, in quarters."""
    cells: dict[int, list[float]] = {}
    tolerance = ROUNDING / clock.per_quarter
    for onset in onsets:
        # What lies a rounding before a beat belongs to the beat.
        cell = int((onset + tolerance) // 1)
        cells.setdefault(cell, []).append(onset - cell)
    if clock.kind == "typed":
        return Grid({cell: _typed(rows, tolerance) for cell, rows in cells.items()})
    return Grid({cell: _played(rows) for cell, rows in cells.items()})


def _typed(offsets: Sequence[float], tolerance: float) -> int:
    """The plainest division on which all of `offsets` lie; the nearest where there is none."""
    misses = []
    for place, parts in enumerate(TYPED_DIVISIONS):
        miss = max(abs(x * parts - round(x * parts)) / parts for x in offsets)
        if miss <= tolerance:
            return parts
        misses.append((miss, place))
    return TYPED_DIVISIONS[min(misses)[1]]


def _played(offsets: Sequence[float]) -> int:
    def cost(parts: int) -> float:
        return PLAYED_COST[parts] + sum(
            min(((x * parts - round(x * parts)) / parts / PLAYED_SCATTER) ** 2, 9.0)
            for x in offsets
        )

    return min(PLAYED_COST, key=cost)
