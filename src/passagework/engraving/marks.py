"""What can be marked on a page of music, as plain values.

A mark names notes by their ids in the notation (any notehead, rests too); ids that are not on the page
are passed over, so that the same marks serve the whole score and an excerpt of it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Side = Literal["above", "below"]
Hand = Literal["pencil", "print", "teacher"]
"""Who wrote a word: the pencil of this program, the printed page, or the teacher (blue)."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A pencil ring around notes, one on each system; a bracket where they fill several systems.

    `number` is written in the margin beside the system in which the first of the notes stands.
    """

    ids: tuple[str, ...]
    number: str = ""


@dataclass(frozen=True, slots=True)
class Grey:
    """Notes set back, so that the others stand out; beams and stems that are wholly theirs go too."""

    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Tune:
    """Notes of a line in their order, joined by a band of soft pencil rubbed behind them."""

    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Word:
    """A short text at a note: a finger, a name, a key."""

    id: str
    text: str
    side: Side = "above"
    hand: Hand = "pencil"


@dataclass(frozen=True, slots=True)
class Chord:
    """A chord symbol and, under it, a numeral, in the rows under the system at the note's place."""

    id: str
    symbol: str
    numeral: str = ""


Mark = Ring | Grey | Tune | Word | Chord
