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

MOST_DIVISIONS = 4
"""Divisions of one quarter at the same time."""

PLAYED_COST = {1: 0.0, 2: 0.4, 4: 1.1, 3: 1.4, 6: 3.0, 8: 3.5, 5: 4.5}
"""Divisions tried on played notes, and what each must earn by fitting better."""

PLAYED_SCATTER = 0.07
"""Quarters by which played onsets scatter about their place: 35 ms at a beat of half a second
(Repp, "Sensorimotor synchronization", Psychonomic Bulletin & Review 12, 2005, reports 20 to 40)."""


@dataclass(frozen=True)
class Grid:
    """The divisions of every quarter, and with them the place of every time."""

    divisions: dict[int, tuple[int, ...]]
    """Parts of the quarter by its number from the start, plainest first: more than one where the
    hands divide it differently. Quarters without onsets are not named."""
    tolerance: float
    """Quarters within which a place is as good as met."""

    def place(self, quarters: float) -> Fraction:
        """The nearest position of the grid; of those as good as met, the one on the plainest division."""
        cell = int((quarters + self.tolerance) // 1)
        offset = quarters - cell
        near: tuple[float, Fraction] | None = None
        for parts in self.divisions.get(cell, (1,)):
            whole = round(offset * parts)
            miss = abs(offset - whole / parts)
            if near is None or miss < near[0]:
                near = (miss, Fraction(whole, parts))
            if miss <= self.tolerance:
                break
        assert near is not None
        return cell + near[1]


def fit_grid(onsets: Sequence[float], clock: Clock) -> Grid:
    """The divisions that fit `onsets`, in quarters."""
    cells: dict[int, list[float]] = {}
    tolerance = ROUNDING / clock.per_quarter
    for onset in onsets:
        # What lies a rounding before a beat belongs to the beat.
        cell = int((onset + tolerance) // 1)
        cells.setdefault(cell, []).append(onset - cell)
    if clock.kind == "typed":
        fitted = {cell: _typed(rows, tolerance) for cell, rows in cells.items()}
        return Grid(fitted, tolerance)
    return Grid({cell: (_played(rows),) for cell, rows in cells.items()}, tolerance)


def _typed(offsets: Sequence[float], tolerance: float) -> tuple[int, ...]:
    """The plainest division on which all of `offsets` lie, or the few that they share out."""
    left = list(offsets)
    chosen: list[int] = []
    while left and len(chosen) < MOST_DIVISIONS:
        misses = {
            parts: [abs(x - round(x * parts) / parts) for x in left] for parts in TYPED_DIVISIONS
        }
        met = {parts: sum(m <= tolerance for m in row) for parts, row in misses.items()}
        parts = max(TYPED_DIVISIONS, key=lambda p: (met[p], -TYPED_DIVISIONS.index(p)))
        chosen.append(parts)
        left = [x for x, miss in zip(left, misses[parts], strict=True) if miss > tolerance]
    return tuple(sorted(chosen, key=TYPED_DIVISIONS.index))


def _played(offsets: Sequence[float]) -> int:
    def cost(parts: int) -> float:
        return PLAYED_COST[parts] + sum(
            min(((x * parts - round(x * parts)) / parts / PLAYED_SCATTER) ** 2, 9.0)
            for x in offsets
        )

    return min(PLAYED_COST, key=cost)
