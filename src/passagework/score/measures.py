"""Walks through the measures of a document in normal form and collects what they hold."""

from __future__ import annotations

from fractions import Fraction

from passagework.score.bars import BarReader
from passagework.score.heads import HeadReader, staff_of, ticks_of, voice_of
from passagework.score.limits import MAX_STAVES
from passagework.score.marks import Marks
from passagework.score.markup import Element
from passagework.score.numbers import whole
from passagework.score.piece import Clef, Rest
from passagework.score.warnings import Warnings

CLEF_LINES = {"G": 2, "F": 4, "C": 3}
"""The line on which each clef usually stands."""

CLEF_SIGNS = frozenset({"G", "F", "C", "percussion", "TAB", "none"})

MOST_TRANSPOSED = 36
"""Semitones of the largest transposition believed."""


class MeasureReader:
    """What the measures say, in document order: heads, rests, clefs, bars, marks."""

    def __init__(self, divisions: int, warnings: Warnings) -> None:
        self.warnings = warnings
        self.divisions = divisions
        self.marks = Marks(warnings)
        self.bars = BarReader(warnings)
        self.notes = HeadReader()
        self.rests: list[Rest] = []
        self.clefs: list[Clef] = []
        self._start = 0
        self._octaves: dict[int, int] = {}
        """Octaves by which each staff sounds off what is written."""
        self._fractions: dict[int, Fraction] = {}

    def quarters(self, ticks: int) -> Fraction:
        """`ticks` in quarters."""
        value = self._fractions.get(ticks)
        if value is None:
            value = self._fractions[ticks] = Fraction(ticks, self.divisions)
        return value

    def read(self, index: int, measure: Element) -> None:
        """Read one measure, which begins where the last one ended."""
        at = furthest = chord_start = 0
        label = measure.get("number", "")
        self.bars.open(index, measure, self.quarters(self._start))
        for child in measure:
            tag = child.tag
            if tag == "note":
                kids = {node.tag: node for node in child}
                if "chord" in kids:
                    self._note(child, kids, index, self._start + chord_start)
                    furthest = max(furthest, chord_start + ticks_of(kids))
                    continue
                self._note(child, kids, index, self._start + at)
                chord_start = at
                if "grace" not in kids:
                    at += ticks_of(kids)
            elif tag == "backup":
                at = max(0, at - _ticks(child))
            elif tag == "forward":
                at += _ticks(child)
            elif tag == "attributes":
                self._attributes(child, index, at)
            elif tag == "direction":
                self._direction(child, index, self._start + at, label)
            elif tag == "barline":
                self.bars.barline(child)
            elif tag == "sound":
                place = (self.quarters(self._start + at), index, label, 1, "")
                self.marks.read_sound(child, place)
            furthest = max(furthest, at)
        if furthest == 0:  # a bar without anything in it is a full one
            furthest = round(self.bars.nominal * self.divisions)
        self.bars.close(self.quarters(furthest))
        self._start += furthest

    def _note(self, note: Element, kids: dict[str, Element], index: int, onset: int) -> None:
        if "pitch" in kids:
            octaves = self._octaves.get(staff_of(kids), 0) if self._octaves else 0
            self.notes.read(note, kids, index, onset, octaves)
        elif "rest" in kids and "grace" not in kids:
            self.rests.append(
                Rest(
                    note.get("id", ""),
                    index,
                    self.quarters(onset),
                    self.quarters(ticks_of(kids)),
                    staff_of(kids),
                    voice_of(kids),
                    printed=note.get("print-object") != "no",
                )
            )

    def _attributes(self, node: Element, index: int, at: int) -> None:
        onset = self.quarters(self._start + at)
        self.bars.attributes(node, onset, at_start=at == 0)
        for clef in node.findall("clef"):
            sign = (clef.findtext("sign") or "G").strip()
            line = whole(clef.findtext("line"))
            change = whole(clef.findtext("clef-octave-change"))
            staff = whole(clef.get("number", "1"))
            self.clefs.append(
                Clef(
                    onset,
                    index,
                    staff if staff and 1 <= staff <= MAX_STAVES else 1,
                    sign if sign in CLEF_SIGNS else "G",
                    line if line and 1 <= line <= 5 else CLEF_LINES.get(sign, 2),
                    change if change and abs(change) <= 2 else 0,
                )
            )
        for transpose in node.findall("transpose"):
            semitones = whole(transpose.findtext("chromatic")) or 0
            octaves = whole(transpose.findtext("octave-change")) or 0
            shift = semitones + 12 * octaves
            believed = shift % 12 == 0 and abs(shift) <= MOST_TRANSPOSED
            staff = whole(transpose.get("number"))
            staves = range(1, MAX_STAVES + 1) if staff is None else (staff,)
            self._octaves.update(dict.fromkeys(staves, shift // 12 if believed else 0))
            if shift and not believed:
                self.warnings.add("the part is for a transposing instrument; read as written")

    def _direction(self, child: Element, index: int, at: int, label: str) -> None:
        offset = whole(child.findtext("offset"))
        staff = whole(child.findtext("staff"))
        place = (
            self.quarters(max(0, at + (offset or 0))),
            index,
            label,
            staff if staff and 1 <= staff <= MAX_STAVES else 1,
            child.get("id", ""),
        )
        self.marks.read(child, place)


def _ticks(element: Element) -> int:
    return int(element.findtext("duration") or 0)
