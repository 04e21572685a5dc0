"""The frozen reading of a score: what is written, with exact positions.

Conventions
-----------
* A *position* is a `fractions.Fraction` of a quarter note, counted from the start of the first
  bar as written (repeats not unfolded). A pickup bar starts at 0 and is as long as its notes.
* A *bar* is one ``<measure>`` of the notation, found by its `index` (0, 1, 2 ...). Its `number` is
  what is printed and need not be unique.
* Tied notes are one `Note`; its `id` is that of the first notehead, `tied_ids` holds the others.
* Everything is immutable, so a `Piece` can be shared, cached and compared.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Literal

Side = Literal["left", "right"]
Position = Fraction
"""Quarter notes from the start of the piece, exact."""

STEP_SEMITONES = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}


def sort_key(position: Position) -> float:
    """`position` as a float, to search by: in the same order, and equal only for equal positions (two
    that differ are at least one over the product of their denominators apart), at a tenth of the cost of
    comparing fractions.
    """
    above, below = position.as_integer_ratio()
    return above / below


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch as it sounds: `step` C to B, `alter` in semitones, `octave` (C4 is middle C)."""

    step: str
    alter: int
    octave: int

    @property
    def midi(self) -> int:
        """MIDI number, 60 for C4."""
        return STEP_SEMITONES[self.step] + self.alter + 12 * (self.octave + 1)

    @property
    def fifths(self) -> int:
        """Place on the line of fifths, C = 0, G = 1, F = -1, Eb = -3."""
        return "FCGDAEB".index(self.step) - 1 + 7 * self.alter

    @property
    def diatonic(self) -> int:
        """Staff steps above C0, so that neighbours differ by one whatever their accidentals."""
        return "CDEFGAB".index(self.step) + 7 * self.octave

    @property
    def name(self) -> str:
        """Letter and accidentals, without the octave: ``"Eb"``, ``"F##"``."""
        return self.step + ("#" * self.alter if self.alter > 0 else "b" * -self.alter)

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"


@dataclass(frozen=True, slots=True)
class TimeSignature:
    """A metre as printed: ``beats`` are the groups of the numerator (``(3, 2)`` for 3+2/8)."""

    beats: tuple[int, ...]
    beat_type: int
    symbol: str | None = None
    """``"common"``, ``"cut"`` or None."""
    printed: bool = True
    """False where the file has no signature (or ``senza-misura``) and the metre is inferred."""

    @property
    def length(self) -> Fraction:
        """Length of a full bar in quarters."""
        return Fraction(4 * sum(self.beats), self.beat_type)

    @property
    def beat(self) -> Fraction:
        """Length in quarters of the beat a musician counts: a dotted value in compound metres."""
        total = sum(self.beats)
        if len(self.beats) == 1 and total % 3 == 0 and total > 3 and self.beat_type >= 8:
            return Fraction(12, self.beat_type)
        if len(self.beats) == 1 and total == 3 and self.beat_type >= 16:
            return Fraction(12, self.beat_type)
        return Fraction(4, self.beat_type)

    def __str__(self) -> str:
        return "+".join(map(str, self.beats)) + f"/{self.beat_type}"


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar as written."""

    index: int
    number: str
    """As printed; ``""`` where nothing is printed."""
    onset: Position
    length: Fraction
    """Length in quarters of what the bar holds (its notes and rests)."""
    time: TimeSignature
    fifths: int
    """Sharps (positive) or flats (negative) of the signature in force at the bar's start."""
    mode: str | None = None
    """The mode the file gives for that signature, where it gives one."""
    pickup: bool = False
    repeat_start: bool = False
    repeat_end: int = 0
    """How often the bars up to here are played in all (2 for a plain repeat), 0 without a repeat."""
    endings: tuple[int, ...] = ()
    """Numbers of the ending (volta) that this bar belongs to."""
    barline: str = "regular"
    """The right bar line: MusicXML's ``bar-style``."""

    @property
    def end(self) -> Position:
        """Position of the bar line after the bar."""
        return self.onset + self.length

    @property
    def label(self) -> str:
        """What to call the bar in words: its printed number, else its place in the file."""
        return self.number or f"({self.index + 1})"


@dataclass(frozen=True, slots=True)
class Ornament:
    """An ornament sign on a note: MusicXML's element name, with the accidentals printed at it."""

    kind: str
    """``trill-mark``, ``mordent``, ``inverted-mordent``, ``turn``, ``inverted-turn``, ``tremolo`` ..."""
    accidentals: tuple[str, ...] = ()
    strokes: int = 0
    """Strokes of a tremolo, 0 otherwise."""
    role: str = ""
    """``single``, ``start`` or ``stop`` of a tremolo, ``start``/``stop`` of a wavy line."""


@dataclass(frozen=True, slots=True)
class Tuplet:
    """``actual`` notes in the time of ``normal``, as the notation gives them (nested ones multiplied)."""

    actual: int
    normal: int


@dataclass(frozen=True, slots=True)
class Note:
    """One sounding note (ties joined)."""

    id: str
    bar: int
    """Index of the bar in which it begins."""
    onset: Position
    duration: Fraction
    """Quarters, ties included; 0 for a grace note."""
    pitch: Pitch
    staff: int
    """1 is the upper staff."""
    voice: str
    hand: Side
    hand_sure: float = 1.0
    """How sure the hand is, 0.5 (a guess) to 1."""
    chord: int = 0
    """Notes of one voice struck together share this number (unique in the piece)."""
    grace: str = ""
    """``""``, ``"slashed"`` (acciaccatura) or ``"plain"`` (appoggiatura)."""
    tied_ids: tuple[str, ...] = ()
    fingers: tuple[int, ...] = ()
    """Printed fingering: the finger that strikes, then the substitutions."""
    tuplet: Tuplet | None = None
    articulations: frozenset[str] = frozenset()
    """MusicXML names: ``staccato``, ``tenuto``, ``accent``, ``strong-accent``, ``fermata`` ..."""
    ornaments: tuple[Ornament, ...] = ()
    arpeggio: str = ""
    """``""``, ``"up"``, ``"down"``, or ``"bracket"`` (non-arpeggiate)."""
    accidental: str = ""
    """The accidental printed at the note, MusicXML's name; ``""`` for none."""
    written_octave_shift: int = 0
    """Octaves that an ottava line moves the written note away from the sound (sound - written)."""
    printed: bool = True
    """False for a note with ``print-object="no"`` (it sounds, or plays an ornament out)."""
    cue: bool = False
    beams: tuple[str, ...] = ()
    """``begin``/``continue``/``end``/hooks, level by level."""
    value: Fraction = Fraction(0)
    """Printed value of the first notehead in quarters, dots included, tuplets not."""

    @property
    def end(self) -> Position:
        """Position at which the note is to be released."""
        return self.onset + self.duration

    @property
    def midi(self) -> int:
        """MIDI number of the sound."""
        return self.pitch.midi

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of all its noteheads, in order."""
        return (self.id, *self.tied_ids)


@dataclass(frozen=True, slots=True)
class Rest:
    """A rest as written."""

    id: str
    bar: int
    onset: Position
    duration: Fraction
    staff: int
    voice: str
    printed: bool = True


@dataclass(frozen=True, slots=True)
class Clef:
    """A clef from `onset` on, in its staff."""

    onset: Position
    bar: int
    staff: int
    sign: str
    line: int
    octave_change: int = 0


@dataclass(frozen=True, slots=True)
class KeySignature:
    """A key signature from `onset` on; `mode` only where the file gives it."""

    onset: Position
    bar: int
    fifths: int
    mode: str | None = None


@dataclass(frozen=True, slots=True)
class Dynamic:
    """A dynamic sign: `text` as ``"pp"``, ``"sfz"``, ``"fp"``."""

    id: str
    onset: Position
    bar: int
    staff: int
    text: str


@dataclass(frozen=True, slots=True)
class Hairpin:
    """A crescendo or diminuendo wedge, or a dashed line that continues such a word."""

    id: str
    onset: Position
    end: Position
    bar: int
    staff: int
    kind: Literal["crescendo", "diminuendo"]


@dataclass(frozen=True, slots=True)
class Words:
    """Words on the page, as written (adjacent pieces of one direction joined)."""

    id: str
    onset: Position
    bar: int
    staff: int
    text: str
    placement: str = ""
    """``above``, ``below`` or ``""``."""
    bold: bool = False
    italic: bool = False


@dataclass(frozen=True, slots=True)
class Metronome:
    """A metronome mark: `beat` in quarters, `per_minute` of them; or the file's own playback tempo."""

    id: str
    onset: Position
    bar: int
    beat: Fraction
    per_minute: float
    printed: bool = True
    """False for a tempo that only the playback data of the file holds (``<sound tempo>``)."""

    @property
    def quarters_per_minute(self) -> float:
        """Quarter notes per minute."""
        return float(self.beat) * self.per_minute


@dataclass(frozen=True, slots=True)
class Pedal:
    """The damper pedal held from `onset` to `end`; `changes` are the positions of half-lifts in it."""

    id: str
    onset: Position
    end: Position
    bar: int
    changes: tuple[Position, ...] = ()


@dataclass(frozen=True, slots=True)
class Slur:
    """A slur from one note to another (ids of the noteheads that carry its ends)."""

    first: str
    last: str
    onset: Position
    end: Position
    staff: int


@dataclass(frozen=True, slots=True)
class OctaveShift:
    """An ottava line; `octaves` is +1 for 8va alta, -1 for 8va bassa, 2 for 15ma."""

    onset: Position
    end: Position
    bar: int
    staff: int
    octaves: int


@dataclass(frozen=True)
class Piece:
    """A whole piece, as read. Sequences are in order of position."""

    title: str
    composer: str
    bars: tuple[Bar, ...]
    notes: tuple[Note, ...]
    """Ordered by onset, grace notes before the note they lean on, then by pitch."""
    rests: tuple[Rest, ...] = ()
    clefs: tuple[Clef, ...] = ()
    key_signatures: tuple[KeySignature, ...] = ()
    dynamics: tuple[Dynamic, ...] = ()
    hairpins: tuple[Hairpin, ...] = ()
    words: tuple[Words, ...] = ()
    metronomes: tuple[Metronome, ...] = ()
    pedals: tuple[Pedal, ...] = ()
    slurs: tuple[Slur, ...] = ()
    octave_shifts: tuple[OctaveShift, ...] = ()
    playing_order: tuple[int, ...] = ()
    """Indices of the bars in the order they are played, repeats, endings and jumps unfolded."""
    staves: int = 2
    warnings: tuple[str, ...] = field(default=(), compare=False)
    """What had to be repaired or guessed, one sentence each, the bar named first."""

    @property
    def end(self) -> Position:
        """Position after the last bar."""
        return self.bars[-1].end if self.bars else Fraction(0)

    @cached_property
    def by_id(self) -> dict[str, Note]:
        """Every notehead id to its note (tied heads lead to the note they belong to)."""
        return {i: n for n in self.notes for i in n.ids}

    @cached_property
    def ticks_per_quarter(self) -> int:
        """Smallest number of ticks that makes every position and duration whole."""
        denominators = {1}
        for bar in self.bars:
            denominators.add(bar.onset.denominator)
            denominators.add(bar.length.denominator)
        for note in self.notes:
            denominators.add(note.onset.denominator)
            denominators.add(note.duration.denominator)
        return lcm(*denominators)

    def ticks(self, position: Fraction) -> int:
        """`position` (or a duration) in whole ticks; exact for everything in this piece."""
        above, below = position.as_integer_ratio()
        return above * self.ticks_per_quarter // below

    @cached_property
    def notes_of_bar(self) -> tuple[tuple[Note, ...], ...]:
        """For every bar the notes that begin in it."""
        rows: list[list[Note]] = [[] for _ in self.bars]
        for note in self.notes:
            rows[note.bar].append(note)
        return tuple(tuple(row) for row in rows)

    def bar_at(self, position: Position) -> Bar:
        """The bar that holds `position`; the last one for the end of the piece."""
        return self.bars[max(bisect_right(self._bar_keys, sort_key(position)) - 1, 0)]

    @cached_property
    def _bar_keys(self) -> list[float]:
        return [sort_key(bar.onset) for bar in self.bars]

    def of_hand(self, side: Side) -> Iterator[Note]:
        """Notes of one hand, in order."""
        return (n for n in self.notes if n.hand == side)
