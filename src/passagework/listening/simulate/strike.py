"""One key stroke of the simulated player while it is being made."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.score.piece import Note, Side

SHORTEST_S = 0.03
"""Seconds for which a key is down at least."""


@dataclass(slots=True)
class Strike:
    """A stroke; times in seconds from the start of the take, `at` in quarters from the start of its pass."""

    note: Note
    """The written note that it belongs to."""
    at: float
    onset: float
    end: float
    pitch: int
    main: bool = True
    """Whether it is the stroke of the note itself, and not one that its ornament adds."""
    meant: bool = True
    """False for a key that nobody asked for."""
    sounds: bool = True
    """False for a note left out."""
    marked: float = 64.0
    """Velocity that the page asks for."""
    lift: float = 0.0
    """Velocity steps by which it stands out of (or under) what sounds with it: the voicing."""
    shape: float = 0.0
    """Velocity steps of phrasing, metre and chance."""

    @property
    def hand(self) -> Side:
        """The hand that strikes."""
        return self.note.hand

    @property
    def velocity(self) -> int:
        """MIDI velocity, within what is used."""
        return max(SOFTEST, min(LOUDEST, round(self.marked + self.lift + self.shape)))

    def move(self, seconds: float) -> None:
        """Strike later (earlier: negative), for as long as before."""
        self.onset += seconds
        self.end += seconds


SOFTEST, LOUDEST = 12, 124
"""Velocities that are used: a key struck more softly than some 10 does not sound on most instruments."""
