"""Makes a document easy to engrave: our own page, no hidden notes, ties and slurs that cannot be mistaken.

The engraver matches ends of ties by pitch and ends of slurs by number, in the order of the document;
where voices overlap, or a file is badly typed, curves then lead across whole pages. Here they are
matched as `passagework.score` matches them, and written so that only that reading is left.
"""

from __future__ import annotations

from itertools import pairwise

from lxml import etree

from passagework.score.cut import timed
from passagework.score.heads import Head
from passagework.score.markup import Element
from passagework.score.measures import MeasureReader
from passagework.score.slurs import match_slurs
from passagework.score.ties import join_ties
from passagework.score.warnings import Warnings

OF_PAGES = ("print", "credit", "defaults", "identification", "work", "movement-title")
"""Elements about pages and titles, which are set around the music and not in it."""
OF_NAMES = ("part-name-display", "part-abbreviation-display")

ONCE = frozenset({"dynamics", "words", "metronome"})
"""Signs that say no more when they are written twice."""

FARTHEST_BARS = 1
"""Bars over which a tie between notes that do not touch is drawn."""


def prepare(root: Element) -> None:
    """Change `root` (a document in normal form) in place."""
    _bare(root)
    part = root.find("part")
    first = part.find("measure") if part is not None else None
    if part is None or first is None:
        return
    reader = MeasureReader(int(first.findtext("attributes/divisions") or 1), Warnings())
    measures = part.findall("measure")
    for index, measure in enumerate(measures):
        reader.read(index, measure)
    heads = reader.notes.heads
    note_of = {note.get("id", ""): note for note in part.iter("note")}
    count = _slurs(heads, note_of)
    _ties(heads, note_of, reader.divisions, len(measures), count)
    _hidden(measures)
    _said_twice(measures)


def _bare(root: Element) -> None:
    for node in list(root.iter(*OF_PAGES, *OF_NAMES)):
        _remove(node)
    for node in root.iter("part-name", "part-abbreviation", "instrument-name"):
        node.text = ""


def _slurs(heads: list[Head], note_of: dict[str, Element]) -> int:
    """Give every slur a number of its own and drop lonely ends; the number of slurs."""
    ends = match_slurs(heads)
    new: dict[tuple[int, str, str], list[str]] = {}
    for count, (first, last, name) in enumerate(ends.pairs, 1):
        if _drawn(heads[first]) and _drawn(heads[last]):
            new.setdefault((first, "start", name), []).append(str(count))
            new.setdefault((last, "stop", name), []).append(str(count))
    for index, head in enumerate(heads):
        if head.signs.slurs:
            for notations in note_of[head.id].findall("notations"):
                for slur in notations.findall("slur"):
                    key = (index, slur.get("type", ""), slur.get("number", "1"))
                    numbers = new.get(key)
                    if numbers:
                        slur.set("number", numbers.pop(0))
                    else:
                        notations.remove(slur)
    return len(ends.pairs)


def _ties(
    heads: list[Head], note_of: dict[str, Element], divisions: int, bars: int, slurs: int
) -> None:
    """Keep ties between notes that touch, draw others as curves if they are near, drop the rest."""
    wanted: set[tuple[int, str]] = set()
    apart: list[tuple[Head, Head]] = []
    met: set[tuple[int, int]] = set()
    for group in join_ties(heads, frozenset(), [""] * bars, divisions, Warnings()):
        for a, b in pairwise(group):
            one, two = heads[a], heads[b]
            if not (_drawn(one) and _drawn(two)):
                continue
            if one.end == two.onset or one.grace:
                wanted |= {(a, "start"), (b, "stop")}
                met.add((two.midi, two.onset))
            elif two.bar - one.bar <= FARTHEST_BARS:
                apart.append((one, two))
    for number, (one, two) in enumerate(apart, slurs + 1):
        if (two.midi, two.onset) not in met:  # in two voices the same tie is drawn once
            _curve(note_of[one.id], "start", number)
            _curve(note_of[two.id], "stop", number)
    for index, head in enumerate(heads):
        note = note_of[head.id]
        for kind, there in (("start", head.signs.tie_start), ("stop", head.signs.tie_stop)):
            if (index, kind) in wanted:
                if not any(t.get("type") == kind for t in note.iterfind("notations/tied")):
                    etree.SubElement(_notations(note), "tied", {"type": kind})
            elif there:
                _untie(note, kind)


def _said_twice(measures: list[Element]) -> None:
    """Drop signs that a file repeats at one place of one staff: room would be kept for each of them."""
    for measure in measures:
        seen: set[tuple[object, ...]] = set()
        for at, child in list(timed(measure)):
            if child.tag != "direction":
                continue
            nodes = [node for kind in child.findall("direction-type") for node in kind]
            if not all(node.tag in ONCE for node in nodes):
                continue
            says = tuple((e.tag, (e.text or "").strip()) for node in nodes for e in node.iter())
            key = (at, child.findtext("offset"), child.findtext("staff"), says)
            if key in seen:
                measure.remove(child)
            seen.add(key)


def _drawn(head: Head) -> bool:
    return head.printed


def _curve(note: Element, kind: str, number: int) -> None:
    etree.SubElement(_notations(note), "slur", {"type": kind, "number": str(number)})


def _untie(note: Element, kind: str) -> None:
    for tie in note.findall("tie"):
        if tie.get("type") == kind:
            note.remove(tie)
    for notations in note.findall("notations"):
        for tied in notations.findall("tied"):
            if tied.get("type") == kind:
                notations.remove(tied)


def _notations(note: Element) -> Element:
    found = note.find("notations")
    if found is None:
        found = etree.Element("notations")
        place = next((i for i, c in enumerate(note) if c.tag in {"lyric", "play"}), len(note))
        note.insert(place, found)
    return found


def _hidden(measures: list[Element]) -> None:
    """Put room in the place of notes and rests that are not printed; beams would be drawn without them."""
    _wavy_lines(measures)
    for measure in measures:
        for note in measure.findall("note"):
            if note.get("print-object") == "no":
                _take_out(measure, note)


def _wavy_lines(measures: list[Element]) -> None:
    """Take away lines of trills that do not end on another printed note; the sign itself stays.

    Files that play a trill out in hidden notes end the line there, and without an end it would run on
    to the last page.
    """
    opened: dict[str, Element] = {}
    for measure in measures:
        for note in measure.findall("note"):
            hidden = note.get("print-object") == "no"
            for line in list(note.iterfind("notations/ornaments/wavy-line")):
                key = line.get("number", "1")
                begun = opened.get(key)
                if line.get("type") == "start" and not hidden:
                    if begun is not None:
                        _remove(begun)
                    opened[key] = line
                elif line.get("type") == "stop" and begun is not None:
                    del opened[key]
                    if hidden or begun.getparent() is line.getparent():
                        _remove(begun)
                        _remove(line)
                else:
                    _remove(line)
    for line in opened.values():
        _remove(line)


def _remove(node: Element) -> None:
    parent = node.getparent()
    if parent is not None:
        parent.remove(node)


def _take_out(measure: Element, note: Element) -> None:
    if note.find("chord") is not None or note.find("grace") is not None:
        measure.remove(note)
        return
    following = note.getnext()
    chord = following.find("chord") if following is not None else None
    if following is not None and following.tag == "note" and chord is not None:
        following.remove(chord)  # the next of the chord takes the place of the first
        measure.remove(note)
        return
    forward = etree.Element("forward")
    etree.SubElement(forward, "duration").text = note.findtext("duration") or "0"
    for tag in ("voice", "staff"):
        node = note.find(tag)
        if node is not None:
            forward.append(node)
    measure.replace(note, forward)
