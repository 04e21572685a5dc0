"""How loud the page is, coarsely, for the choice of fingers: only soft against not soft matters here."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from fractions import Fraction

from passagework.score.piece import Piece

DYNAMIC_LOUDNESS = {
    "pppp": 0.0, "ppp": 0.05, "pp": 0.15, "p": 0.3, "mp": 0.45, "mf": 0.55, "f": 0.7, "ff": 0.85,
    "fff": 0.95, "ffff": 1.0, "fp": 0.3, "pf": 0.7, "sfp": 0.3, "sfpp": 0.15,
}  # fmt: skip
"""Marks in equal steps from the softest (0) to the loudest (1); accents (*sf*, *fz*) leave the level alone."""

UNMARKED = 0.5


def marked_loudness(piece: Piece) -> Callable[[Fraction], float]:
    """Loudness at a position, 0 (*pppp*) to 1 (*ffff*), by the last dynamic mark before it."""
    marks = sorted(
        (d.onset, DYNAMIC_LOUDNESS[d.text]) for d in piece.dynamics if d.text in DYNAMIC_LOUDNESS
    )
    onsets = [onset for onset, _ in marks]

    def at(position: Fraction) -> float:
        place = bisect_right(onsets, position) - 1
        return marks[place][1] if place >= 0 else UNMARKED

    return at
