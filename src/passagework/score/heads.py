"""Noteheads in document order: everything that one ``note`` element says, read in one pass."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from passagework.score.markup import Element
from passagework.score.piece import Pitch, Tuplet
from passagework.score.signs import Signs, read_signs
from passagework.score.values import plain_value, tuplet_of

HIGHEST_MIDI = 127


@dataclass(slots=True)
class Head:
    """One notehead; `onset` and `duration` in ticks of the document, from the start of the piece."""

    id: str
    bar: int
    onset: int
    duration: int
    pitch: Pitch
    midi: int
    staff: int
    voice: str
    chord: int
    grace: str
    signs: Signs
    value: tuple[str, int]
    """Type and dots as printed."""
    tuplet: Tuplet | None
    accidental: str
    beams: tuple[str, ...]
    printed: bool
    cue: bool

    @property
    def end(self) -> int:
        """Where it ends, in ticks."""
        return self.onset + self.duration


class HeadReader:
    """Reads ``note`` elements into heads, remembering pitches that come again."""

    def __init__(self) -> None:
        self.heads: list[Head] = []
        self._chord = 0
        self._pitches: dict[tuple[str, int, int], tuple[Pitch, int]] = {}

    def read(
        self, note: Element, kids: dict[str, Element], bar: int, onset: int, octaves: int
    ) -> None:
        """Read a pitched `note`, whose children by name are `kids`; it sounds `octaves` off."""
        if "chord" not in kids or not self.heads:
            self._chord += 1
        pitch, midi = self._pitch(kids["pitch"], octaves)
        grace = kids.get("grace")
        beams = note.findall("beam") if "beam" in kids else ()
        self.heads.append(
            Head(
                id=note.get("id", ""),
                bar=bar,
                onset=onset,
                duration=0 if grace is not None else ticks_of(kids),
                pitch=pitch,
                midi=midi,
                staff=staff_of(kids),
                voice=voice_of(kids),
                chord=self._chord,
                grace=""
                if grace is None
                else "slashed"
                if grace.get("slash") == "yes"
                else "plain",
                signs=read_signs(note, kids),
                value=(_text(kids.get("type")), len(note.findall("dot")) if "dot" in kids else 0),
                tuplet=tuplet_of(kids.get("time-modification")),
                accidental=_text(kids.get("accidental")),
                beams=tuple((beam.text or "").strip() for beam in beams),
                printed=note.get("print-object") != "no",
                cue="cue" in kids,
            )
        )

    def _pitch(self, node: Element, octaves: int) -> tuple[Pitch, int]:
        step, alter, octave = "C", 0, 4
        for child in node:
            if child.tag == "step":
                step = child.text or "C"
            elif child.tag == "alter":
                alter = int(child.text or 0)
            elif child.tag == "octave":
                octave = int(child.text or 4)
        key = (step, alter, octave + octaves)
        known = self._pitches.get(key)
        if known is None:
            pitch = Pitch(*key)
            if not 0 <= pitch.midi <= HIGHEST_MIDI:  # not where an ottava of the part can lead
                pitch = Pitch(step, alter, octave)
            known = self._pitches[key] = (pitch, pitch.midi)
        return known


def ticks_of(kids: dict[str, Element]) -> int:
    """The duration among the children `kids` of a note, backup or forward."""
    node = kids.get("duration")
    return int(node.text or 0) if node is not None else 0


def staff_of(kids: dict[str, Element]) -> int:
    """The staff of a note; 1 where none is given."""
    node = kids.get("staff")
    return int(node.text or 1) if node is not None else 1


def voice_of(kids: dict[str, Element]) -> str:
    """The voice of a note; "1" where none is given."""
    return _text(kids.get("voice")) or "1"


def printed_value(head: Head) -> Fraction:
    """Printed value in quarters, dots included, tuplets not; 0 where no type is given."""
    return plain_value(*head.value)


def _text(node: Element | None) -> str:
    return "" if node is None else (node.text or "").strip()
