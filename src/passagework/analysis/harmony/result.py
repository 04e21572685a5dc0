"""What the analysis of keys and harmony returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from passagework.score.piece import Position

Mode = Literal["major", "minor"]
NonChordKind = Literal[
    "passing",
    "neighbour",
    "suspension",
    "appoggiatura",
    "anticipation",
    "escape",
    "pedal",
    "ornament",
    "",
]
"""``escape`` is reached by step and left by leap; ``ornament`` is a grace note; ``""`` is none of these clearly."""


@dataclass(frozen=True, slots=True)
class Pivot:
    """The last chord before a change of key, read in both."""

    chord: int
    """Its index among the chords."""
    before: str
    """Numeral in the key that is left."""
    after: str
    """Numeral in the key that is reached."""


@dataclass(frozen=True, slots=True)
class KeySpan:
    """A key from `onset` to `end`."""

    onset: Position
    end: Position
    tonic: str
    """Spelled, as ``"Eb"``."""
    mode: Mode
    confidence: float
    """0 to 1, against the other keys the piece could be in."""
    signature: int
    """Sharps (positive) or flats (negative) printed where the span begins."""
    away: int
    """Sharps (positive) or flats (negative) that this key has beyond the printed signature; 0 where they agree."""
    pivot: Pivot | None = None
    """None for the first key and where the keys meet without a common chord."""

    @property
    def name(self) -> str:
        """In words: ``"E flat major"``."""
        letter, signs = self.tonic[0], self.tonic[1:]
        word = {"": "", "#": " sharp", "b": " flat", "##": " double sharp", "bb": " double flat"}
        return f"{letter}{word.get(signs, signs)} {self.mode}"


@dataclass(frozen=True, slots=True)
class NonChordNote:
    """A note that does not belong to the chord under it."""

    note_id: str
    kind: NonChordKind


@dataclass(frozen=True, slots=True)
class Chord:
    """One chord over one bass."""

    onset: Position
    duration: Position
    """Quarters, up to the next chord."""
    root: str
    """Spelled."""
    quality: str
    """Value name of MusicXML's harmony ``kind``."""
    bass: str
    """Spelled; a note of the chord."""
    symbol: str
    """Common chord symbol. A cadential six-four has the symbol of what sounds (``"C/G"``)."""
    numeral: str
    """In the local key, with figures: ``"V65/ii"``. ``"V(64)"`` is the cadential six-four: a dominant
    whose third and fifth are still held up by the fourth and sixth, so its root is the dominant."""
    inversion: int
    """0 root position, 1 third in the bass ..."""
    confidence: float
    """0 to 1, against the other chords of the key in this place."""
    note_ids: tuple[str, ...]
    """Notes of the chord that begin or are held in it."""
    non_chord: tuple[NonChordNote, ...]
    """Other notes that begin or are held in it."""
    key: int
    """Index of its key among the key spans."""
    pedal: bool = False
    """Whether it stands over a pedal point: a bass that is held or repeated against it."""
    surprise: float = 0.0
    """Information in bits: how unexpected it is in its key after the chord before it (`surprise_of`)."""

    @property
    def end(self) -> Position:
        """Where the next chord begins."""
        return self.onset + self.duration


@dataclass(frozen=True)
class Harmony:
    """Keys and chords of a piece, both in order and without gaps from the first note on."""

    keys: tuple[KeySpan, ...]
    chords: tuple[Chord, ...]

    def key_at(self, position: Position) -> KeySpan | None:
        """The key in force at `position`, None where there is none (a piece without notes)."""
        found = None
        for span in self.keys:
            if span.onset > position and found is not None:
                break
            found = span
        return found
