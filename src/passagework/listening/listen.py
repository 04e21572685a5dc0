"""The door of the room: a take and a piece in, what was played and what it means out."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.listening.align import align
from passagework.listening.alignment import Alignment
from passagework.listening.finding import Finding
from passagework.listening.findings.find import find_findings
from passagework.listening.heard import Heard
from passagework.listening.take import Take
from passagework.spots.context import Context

SAME_PIECE = 0.4
"""Share of the strokes that must be the piece's. Takes of other pieces reached at most 0.12 in 42 trials, concert takes of the
right one at least 0.82; a first reading with every third note wrong still keeps more than half."""


@dataclass(frozen=True)
class Listened:
    """A take that has been listened to."""

    heard: Heard
    findings: tuple[Finding, ...]
    """The weightiest first; empty where the take is not of this piece."""
    recognised: bool
    """Whether the take is of this piece at all."""

    @property
    def take(self) -> Take:
        """The take."""
        return self.heard.take

    @property
    def alignment(self) -> Alignment:
        """Which written note each stroke is."""
        return self.heard.alignment


def listen(context: Context, take: Take) -> Listened:
    """Lay `take` along the piece and say what it shows. Linear in the notes of both."""
    alignment = align(context.piece, take)
    heard = Heard(context, take, alignment)
    recognised = bool(alignment.matches) and alignment.fit >= SAME_PIECE
    return Listened(heard, find_findings(heard) if recognised else (), recognised)
