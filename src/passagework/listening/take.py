"""A take: what was played, as notes with times in seconds, from whatever it was read.

Conventions
-----------
* Times are seconds from the start of the file; `onset` never falls below 0.
* Notes are in order of onset, then pitch; a note's *index* is its place in that order.
* `duration` is how long the key was down, not how long the pedal let the string sound.
* `velocity` is MIDI's, 1 to 127; for a recording it is estimated.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One key stroke."""

    onset: float
    """Seconds from the start of the take."""
    duration: float
    """Seconds the key was down, above 0."""
    pitch: int
    """MIDI number, 60 for middle C."""
    velocity: int
    """1 to 127."""

    @property
    def end(self) -> float:
        """Second at which the key was released."""
        return self.onset + self.duration


@dataclass(frozen=True, slots=True)
class PedalHold:
    """The damper pedal down, from `start` to `end` in seconds."""

    start: float
    end: float


@dataclass(frozen=True)
class Take:
    """What was played, whole."""

    notes: tuple[PlayedNote, ...]
    """In order of onset, then pitch."""
    pedals: tuple[PedalHold, ...] = ()
    """In order; they do not overlap."""
    source: Literal["midi", "recording"] = "midi"
    has_pedal: bool = True
    """False where the source cannot tell when the pedal was down."""
    warnings: tuple[str, ...] = ()
    """What had to be repaired or is doubtful, a sentence each."""

    @cached_property
    def length(self) -> float:
        """Second at which the last key was released; 0 for a take without notes."""
        return max((note.end for note in self.notes), default=0.0)
