"""A performance as plain values: which key goes down when, how fast, for how long.

Conventions
-----------
* Times are seconds from the start of the performance, the count-in included.
* Notes are in order of start, then pitch; a key is never struck again before it was let go.
* An ornament that is played out gives several notes with the id of the note that carries the sign.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from passagework.score.piece import Position, Side, TimeSignature

Accent = Literal[0, 1, 2]
"""2 the first beat of a bar, 1 the first beat of a later group in an additive metre, 0 any other beat."""


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One stroke of a key."""

    start: float
    end: float
    pitch: int
    """MIDI number, 60 for C4."""
    velocity: int
    """1 to 127."""
    id: str
    hand: Side
    pass_: int = 0
    """How often the bar was played before, with repeats unfolded."""
    unison: tuple[str, ...] = ()
    """Notes of other voices that the same stroke plays."""


@dataclass(frozen=True, slots=True)
class PedalDown:
    """The damper pedal is down from `start` to `end`."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Click:
    """A click of the metronome."""

    start: float
    accent: Accent


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat as it is counted."""

    start: float
    bar: int
    """Index of the bar; -1 in the count-in."""
    count: int
    """What is counted aloud: 1 on the first beat of a full bar."""
    accent: Accent
    position: Position | None
    """Where it stands in the piece; None in the count-in."""


@dataclass(frozen=True, slots=True)
class Pace:
    """A speed from `start` on."""

    start: float
    quarters: Fraction
    """Quarters played before, count-in included, repeats unfolded."""
    quarters_per_minute: float


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """A bar as it comes by, repeats unfolded; index -1 for a bar of the count-in."""

    quarters: Fraction
    """Quarters played before it."""
    length: Fraction
    index: int
    time: TimeSignature
    fifths: int


@dataclass(frozen=True)
class Performance:
    """A whole performance."""

    title: str
    notes: tuple[PlayedNote, ...]
    pedals: tuple[PedalDown, ...]
    clicks: tuple[Click, ...]
    beats: tuple[Beat, ...]
    paces: tuple[Pace, ...]
    bars: tuple[PlayedBar, ...]
    count_in: float
    """Seconds before the first bar."""
    duration: float
    """Seconds to the end of the last bar, count-in included."""

    def quarters(self, seconds: float) -> float:
        """Quarters played after `seconds`; beyond the end at the last speed."""
        low, high = 0, len(self.paces) - 1
        while low < high:
            middle = (low + high + 1) // 2
            if self.paces[middle].start <= seconds:
                low = middle
            else:
                high = middle - 1
        pace = self.paces[low]
        return float(pace.quarters) + (seconds - pace.start) * pace.quarters_per_minute / 60.0
