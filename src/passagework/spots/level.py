"""A first estimate of the level a piece is for, from its own notes.

Severity is relative to the level: a scale in quavers is worth practising in a second-year piece and
nothing in a sonata. The estimate takes the median demands of the piece, so that the hard places do
not lift the level they are judged by. It is deliberately coarse; where the teacher's own scale of
levels is known, that replaces it.
"""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from passagework.spots.context import Context

FIRST_YEAR_DENSITY, CONCERT_DENSITY = 1.2, 11.0
"""Attacks per second of both hands together in the median bar, at the two ends of the scale. Counted
in the music itself: five-finger pieces have about one, studies and finales ten and more."""

FIRST_YEAR_RANGE, CONCERT_RANGE = 14.0, 60.0
"""Semitones between the lowest and the highest note of the piece: five fingers of both hands, and
five octaves (the descriptor of range is among the strongest in research on difficulty: Sebastien,
Ralambondrainy, Sebastien and Conruyt, 2012; Ramoneda, Tamer, Eremenko, Serra and Miron, 2022)."""

FIRST_YEAR_WIDTH, CONCERT_WIDTH = 0.0, 9.0
"""Median semitones that a hand spans at once when it plays more than one note."""


@dataclass(frozen=True, slots=True)
class Level:
    """`value` from 0 (first year) to 1 (concert literature), and the numbers it comes from."""

    value: float
    density: float
    """Attacks per second in the median bar, both hands."""
    range_semitones: int
    width: float
    """Median width in semitones of what one hand strikes at once."""

    @property
    def words(self) -> str:
        """The level in words, for a sentence."""
        names = ("a beginner", "an elementary student", "an intermediate student",
                 "a late intermediate student", "an advanced student")  # fmt: skip
        return names[min(int(self.value * 5), 4)]


def estimate_level(context: Context) -> Level:
    """Level of the piece in `context`."""
    piece = context.piece
    notes = [n for n in piece.notes if not n.grace]
    if not notes:
        return Level(0.0, 0.0, 0, 0.0)
    rates: list[float] = []
    for bar, row in zip(piece.bars, piece.notes_of_bar, strict=True):
        seconds = context.seconds(bar.end) - context.seconds(bar.onset)
        if row and seconds > 0:
            attacks = len({(n.onset, n.hand) for n in row})
            rates.append(attacks / seconds)
    low, high = min(n.midi for n in notes), max(n.midi for n in notes)
    widths = [float(max(c) - min(c)) for c in context.chord_pitches if c]
    density = median(rates) if rates else 0.0
    width = median(widths) if widths else 0.0
    parts = (
        _share(density, FIRST_YEAR_DENSITY, CONCERT_DENSITY),
        _share(high - low, FIRST_YEAR_RANGE, CONCERT_RANGE),
        _share(width, FIRST_YEAR_WIDTH, CONCERT_WIDTH),
    )
    value = 0.45 * parts[0] + 0.35 * parts[1] + 0.2 * parts[2]
    return Level(value, density, high - low, width)


def _share(value: float, low: float, high: float) -> float:
    return min(max((value - low) / (high - low), 0.0), 1.0)
