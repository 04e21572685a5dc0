"""A notation laid out by position, to be changed and folded together again.

In MusicXML a bar is a stream with steps forward and back. Here each bar is a list of `Item`s, each
with its place and length in quarters from the start of the bar: a chord with all its heads, a rest,
a chord of grace notes, or anything else (a direction, a clef). `fold` writes the stream again:
whatever stands between two items of a voice becomes a ``forward``, every position and length
is exact, and the divisions are chosen so that they are whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm
from typing import Literal

from lxml import etree

from passagework.score.markup import Element
from passagework.score.notation import Notation

Kind = Literal["chord", "rest", "grace", "other"]

_BEFORE_DURATION = frozenset({"chord", "pitch", "rest", "unpitched", "cue", "grace"})


@dataclass(slots=True, eq=False)
class Item:
    """Something at a place in a bar."""

    kind: Kind
    at: Fraction
    """Quarters from the start of its bar."""
    length: Fraction
    """Quarters; 0 for grace notes and for what is not a note."""
    elements: list[Element]
    """The heads of a chord, the first one the main one; else one element."""
    voice: str = ""
    offset: Fraction | None = None
    """Quarters of a direction's own ``offset``, where it has one."""
    changed: bool = False
    """Whether its value, beams and tuplet signs have to be set anew."""

    @property
    def main(self) -> Element:
        """The first head, or the only element."""
        return self.elements[0]

    @property
    def end(self) -> Fraction:
        """Quarters from the start of the bar to its end."""
        return self.at + self.length

    @property
    def timed(self) -> bool:
        """Whether it takes time in a voice."""
        return self.kind in {"chord", "rest"}

    @property
    def ids(self) -> list[str]:
        """Ids of its elements."""
        return [element.get("id", "") for element in self.elements]


@dataclass(slots=True)
class Sheet:
    """One bar laid out."""

    measure: Element
    items: list[Item]
    """In the order of the document, which is kept."""
    length: Fraction
    """Quarters that the bar holds."""
    voices_touched: set[str] = field(default_factory=set)
    staves_touched: set[str] = field(default_factory=set)

    def touch(self, item: Item) -> None:
        """Note that beams, tuplet signs and accidentals around `item` have to be looked at again."""
        self.voices_touched.add(item.voice)
        self.staves_touched.update(element.findtext("staff") or "1" for element in item.elements)

    def voices(self) -> dict[str, list[Item]]:
        """Its chords, rests and grace notes by voice, in order of place (graces before their chord)."""
        rows: dict[str, list[Item]] = {}
        for item in self.items:
            if item.kind != "other":
                rows.setdefault(item.voice, []).append(item)
        for row in rows.values():
            row.sort(key=lambda item: item.at)
        return rows


@dataclass(slots=True)
class Layout:
    """A whole notation laid out; a copy, so that the original stays as it is."""

    notation: Notation
    sheets: list[Sheet]
    divisions: int
    taken: set[str] = field(default_factory=set)
    """Every id in use."""

    def items(self) -> Iterator[tuple[Sheet, Item]]:
        """Every item with its bar."""
        for sheet in self.sheets:
            for item in sheet.items:
                yield sheet, item

    def starts(self) -> list[Fraction]:
        """Position of every bar, and of the end."""
        places = [Fraction(0)]
        for sheet in self.sheets:
            places.append(places[-1] + sheet.length)
        return places

    def fresh(self, stem: str) -> str:
        """A new id that begins with `stem`."""
        count = 1
        while f"{stem}-{count}" in self.taken:
            count += 1
        name = f"{stem}-{count}"
        self.taken.add(name)
        return name


def unfold(notation: Notation) -> Layout:
    """Lay a copy of `notation` out."""
    work = notation.copy()
    divisions = work.divisions
    taken = {str(element.get("id")) for element in work.root.iter() if element.get("id")}
    sheets = [_sheet(measure, divisions) for measure in work.measures]  # empties the measures
    return Layout(work, sheets, divisions, taken)


def _sheet(measure: Element, divisions: int) -> Sheet:
    items: list[Item] = []
    at = furthest = 0
    last: Item | None = None
    for child in measure:
        tag = str(child.tag)
        if tag in {"backup", "forward"}:
            step = int(child.findtext("duration") or 0)
            at = max(0, at - step) if tag == "backup" else at + step
        elif tag == "note":
            if child.find("chord") is not None and last is not None:
                last.elements.append(child)
                continue
            last = _note(child, Fraction(at, divisions), divisions)
            items.append(last)
            at += int(last.length * divisions)
        else:
            items.append(_other(child, Fraction(at, divisions), divisions))
        furthest = max(furthest, at)
    for child in list(measure):
        measure.remove(child)
    return Sheet(measure, items, Fraction(furthest, divisions))


def _note(note: Element, at: Fraction, divisions: int) -> Item:
    voice = (note.findtext("voice") or "1").strip()
    if note.find("grace") is not None:
        return Item("grace", at, Fraction(0), [note], voice)
    length = Fraction(int(note.findtext("duration") or 0), divisions)
    return Item("rest" if note.find("rest") is not None else "chord", at, length, [note], voice)


def _other(child: Element, at: Fraction, divisions: int) -> Item:
    item = Item("other", at, Fraction(0), [child])
    node = child.find("offset")
    if node is not None:
        try:
            item.offset = Fraction(int(node.text or 0), divisions)
        except ValueError:
            child.remove(node)
    return item


def fold(layout: Layout) -> Notation:
    """Write the bars again (the layout is spent) and give the notation."""
    divisions = lcm(layout.divisions, *_denominators(layout))
    factor = divisions // layout.divisions
    for index, sheet in enumerate(layout.sheets):
        _write(sheet, divisions, factor)
        if index == 0:
            _declare(sheet, divisions)
    part = layout.notation.part
    for child in list(part):
        part.remove(child)
    part.extend(sheet.measure for sheet in layout.sheets)
    return layout.notation


def _declare(sheet: Sheet, divisions: int) -> None:
    """Write the divisions into the first bar, whatever bar that now is."""
    node = sheet.measure.find("attributes/divisions")
    if node is None:
        head = sheet.measure.find("attributes")
        if head is None:
            head = etree.Element("attributes")
            sheet.measure.insert(0, head)
        node = etree.Element("divisions")
        head.insert(0, node)
    node.text = str(divisions)


def _denominators(layout: Layout) -> Iterable[int]:
    found = {1}
    for sheet in layout.sheets:
        found.add(sheet.length.denominator)
        for item in sheet.items:
            found.add(item.at.denominator)
            found.add(item.length.denominator)
            if item.offset is not None:
                found.add(item.offset.denominator)
    return found


def _write(sheet: Sheet, divisions: int, factor: int) -> None:
    """Write a bar; a head that the file gives another length than its chord keeps it, scaled."""
    measure = sheet.measure
    now = 0
    lines: list[Item] = []
    for item in sheet.items:
        if item.kind == "other" and _ends_the_bar(item):
            lines.append(item)
            continue
        place = int(item.at * divisions)
        if place != now:
            measure.append(_move(place - now))
            now = place
        ticks = int(item.length * divisions)
        for element in item.elements:
            if item.timed:
                own = _duration(element) * factor
                whole = item.changed or element is item.main or not own
                _set_duration(element, ticks if whole else own)
            measure.append(element)
        if item.offset is not None:
            node = item.main.find("offset")
            assert node is not None
            node.text = str(int(item.offset * divisions))
        now += ticks
    end = int(sheet.length * divisions)
    if now != end:
        measure.append(_move(end - now))
    measure.extend(item.main for item in lines)


def _ends_the_bar(item: Item) -> bool:
    return item.main.tag == "barline" and item.main.get("location", "right") == "right"


def _move(ticks: int) -> Element:
    step = etree.Element("forward" if ticks > 0 else "backup")
    etree.SubElement(step, "duration").text = str(abs(ticks))
    return step


def _duration(element: Element) -> int:
    return int(element.findtext("duration") or 0)


def _set_duration(element: Element, ticks: int) -> None:
    node = element.find("duration")
    if node is None:
        node = etree.Element("duration")
        element.insert(sum(1 for child in element if child.tag in _BEFORE_DURATION), node)
    node.text = str(ticks)
