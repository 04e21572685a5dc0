"""What ties and slurs do at the edges of a cut."""

from __future__ import annotations

from collections.abc import Iterable

from lxml import etree

from passagework.score.heads import Head
from passagework.score.markup import Element
from passagework.score.measures import MeasureReader
from passagework.score.slurs import match_slurs
from passagework.score.ties import join_ties
from passagework.score.warnings import Warnings

NUMBERS = range(1, 17)
"""Numbers that MusicXML has for slurs that overlap."""

PAIRS = ("glissando", "slide", "wavy-line")
"""Other lines between notes; half of one is taken away."""


def set_notes_right(measures: list[Element], first_bar: int, inside: list[Element]) -> None:
    """Mend the copies `inside` of the `measures` from `first_bar` on."""
    divisions = int(inside[0].findtext("attributes/divisions") or 1)
    reader = MeasureReader(divisions, Warnings())
    for index, measure in enumerate(inside):
        reader.read(index, measure)
    heads = reader.notes.heads
    note_of = {n.get("id", ""): n for measure in inside for n in measure.findall("note")}
    _ties(heads, note_of, divisions, len(inside))
    before = measures[:first_bar]
    after = measures[first_bar + len(inside) :]
    _slurs(heads, note_of, before, after)
    _pairs(inside)


def _ties(heads: list[Head], note_of: dict[str, Element], divisions: int, bars: int) -> None:
    groups = join_ties(heads, frozenset(), [""] * bars, divisions, Warnings())
    for group in groups:
        if heads[group[0]].signs.tie_stop:
            _untie(note_of[heads[group[0]].id], "stop")
        if heads[group[-1]].signs.tie_start:
            _untie(note_of[heads[group[-1]].id], "start")


def _untie(note: Element, kind: str) -> None:
    for tie in note.findall("tie"):
        if tie.get("type") == kind:
            note.remove(tie)
    for notations in note.findall("notations"):
        for tied in notations.findall("tied"):
            if tied.get("type") == kind:
                notations.remove(tied)
        _drop_if_empty(notations)


def _slurs(
    heads: list[Head], note_of: dict[str, Element], before: list[Element], after: list[Element]
) -> None:
    """Lead slurs that cross an edge to the first or last note of their voice in the cut."""
    free = [
        str(n)
        for n in NUMBERS
        if not any(name == str(n) for head in heads for _, name in head.signs.slurs)
    ]
    ends = match_slurs(heads)
    for index, number in ends.stops:
        target = _edge(heads, index, last=False)
        whole = target is not None and _comes_in(number, before) and bool(free)
        _lead(heads, note_of, index, ("stop", number), target if whole else None, free)
    for index, number in ends.starts:
        target = _edge(heads, index, last=True)
        whole = target is not None and _goes_out(number, after) and bool(free)
        _lead(heads, note_of, index, ("start", number), target if whole else None, free)


def _edge(heads: list[Head], index: int, *, last: bool) -> int | None:
    """The first or last head of the same voice and staff, if it lies on the far side of `index`."""
    here = heads[index]
    rows = [
        i
        for i, head in enumerate(heads)
        if (head.voice, head.staff) == (here.voice, here.staff) and not head.grace
    ]
    if not rows:
        return None
    far = (max if last else min)(rows, key=lambda i: heads[i].onset)
    beyond = heads[far].onset > here.onset if last else heads[far].onset < here.onset
    return far if beyond else None


def _comes_in(number: str, before: Iterable[Element]) -> bool:
    found = [
        s for measure in before for s in measure.iter("slur") if s.get("number", "1") == number
    ]
    return bool(found) and found[-1].get("type") == "start"


def _goes_out(number: str, after: Iterable[Element]) -> bool:
    for measure in after:
        for slur in measure.iter("slur"):
            if slur.get("number", "1") == number:
                return slur.get("type") == "stop"
    return False


def _lead(
    heads: list[Head],
    note_of: dict[str, Element],
    index: int,
    end: tuple[str, str],
    target: int | None,
    free: list[str],
) -> None:
    """Give a half slur its other end on the head `target`, or take it away where that is None."""
    kind, number = end
    note = note_of[heads[index].id]
    for notations in note.findall("notations"):
        for slur in notations.findall("slur"):
            if slur.get("type") != kind or slur.get("number", "1") != number:
                continue
            if target is None:
                notations.remove(slur)
            else:
                fresh = free.pop(0)
                slur.set("number", fresh)
                other = etree.Element(
                    "slur", {str(k): str(v) for k, v in slur.attrib.items() if k == "placement"}
                )
                other.set("number", fresh)
                other.set("type", "start" if kind == "stop" else "stop")
                _notations(note_of[heads[target].id]).append(other)
            _drop_if_empty(notations)
            return  # another of that number on the same note has an end of its own


def _notations(note: Element) -> Element:
    found = note.find("notations")
    if found is None:
        found = etree.Element("notations")
        later = {"lyric", "play", "listen"}
        place = next((i for i, c in enumerate(note) if c.tag in later), len(note))
        note.insert(place, found)
    return found


def _drop_if_empty(notations: Element) -> None:
    note = notations.getparent()
    if len(notations) == 0 and note is not None:
        note.remove(notations)


def _pairs(inside: list[Element]) -> None:
    opened: dict[tuple[str, str], Element] = {}
    lonely: list[Element] = []
    for measure in inside:
        for node in measure.iter(*PAIRS):
            key = str(node.tag), node.get("number", "1")
            if node.get("type") == "start":
                if key in opened:
                    lonely.append(opened[key])
                opened[key] = node
            elif key not in opened:
                lonely.append(node)
            elif node.get("type") == "stop":
                del opened[key]
    for node in (*lonely, *opened.values()):
        parent = node.getparent()
        if parent is not None:
            parent.remove(node)
