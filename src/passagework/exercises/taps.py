"""Two lines of a passage tapped: each on one key, the right hand above and the left below on one staff."""

from __future__ import annotations

import copy
from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import times
from passagework.exercises.edit.printed import take_off
from passagework.exercises.edit.rests import rest_items
from passagework.exercises.edit.unfold import Item, Layout, Sheet, unfold
from passagework.exercises.made import pitch_element
from passagework.score.markup import Element
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Pitch, TimeSignature

RIGHT_KEY, LEFT_KEY = Pitch("E", 0, 5), Pitch("F", 0, 4)
"""Keys on which rhythms are tapped: on the highest and the lowest space, so that stems and rests of two
voices never touch."""

STAFF_SIGNS = frozenset({"clef", "staves", "part-symbol", "staff-details", "key"})


def tap(notation: Notation, upper: frozenset[str], lower: frozenset[str]) -> Notation:
    """The rhythm of the heads `upper` and `lower` on one staff; ids of the heads that strike stay.

    Every tap begins where the note begins and is printed in its value. Where a line is written in one voice its
    rests and ties are kept; where it is spread over several, a tap lasts until the next one. Directions go.
    """
    struck = {n.id for n in read_piece(notation).notes if not n.grace}
    layout = unfold(notation)
    for index, (sheet, time) in enumerate(zip(layout.sheets, times(layout), strict=True)):
        rows = [i for i in sheet.items if i.kind == "other" and _stays(i.main)]
        for voice, heads, pitch in (("1", upper, RIGHT_KEY), ("2", lower, LEFT_KEY)):
            rows += _line(layout, sheet, time, (voice, heads & struck, heads, pitch))
        if index == 0:
            _one_clef(rows)
        sheet.items = rows
        for item in rows:
            if item.timed:
                item.changed = True
                sheet.touch(item)
    return finish(layout)


def _stays(element: Element) -> bool:
    if element.tag == "attributes":
        for node in list(element):
            if node.tag in STAFF_SIGNS:
                element.remove(node)
        return len(element) > 0
    return element.tag == "barline"


def _one_clef(rows: list[Item]) -> None:
    head = next((i.main for i in rows if i.main.tag == "attributes" and i.at == 0), None)
    if head is None:
        head = etree.Element("attributes")
        rows.insert(0, Item("other", Fraction(0), Fraction(0), [head]))
    clef = etree.SubElement(head, "clef", number="1")
    etree.SubElement(clef, "sign").text = "G"
    etree.SubElement(clef, "line").text = "2"


_Line = tuple[str, frozenset[str], frozenset[str], Pitch]
"""Voice, heads that strike, all heads, key."""


def _line(layout: Layout, sheet: Sheet, time: TimeSignature, line: _Line) -> list[Item]:
    voice, struck, heads, pitch = line
    chords = [i for i in sheet.items if i.kind == "chord" and heads.intersection(i.ids)]
    voices = {i.voice for i in chords}
    if len(voices) == 1:
        name = voices.pop()
        row = [i for i in sheet.items if i.timed and i.voice == name]
        if all(i.kind == "rest" or heads.intersection(i.ids) for i in row):
            return [_copied(layout, item, (struck, heads), voice, pitch) for item in row]
    return _joined(layout, sheet, time, (voice, struck, heads, pitch), chords)


def _copied(
    layout: Layout,
    item: Item,
    heads: tuple[frozenset[str], frozenset[str]],
    voice: str,
    pitch: Pitch,
) -> Item:
    """A chord as one tap, by a head that strikes where there is one (`heads`: those, and all); or a rest."""
    if item.kind == "rest":
        rest = copy.deepcopy(item.main)
        _to_voice(rest, voice)
        node = rest.find("rest")
        for place in list(node) if node is not None else ():
            assert node is not None
            node.remove(place)
        return Item("rest", item.at, item.length, [rest], voice)
    own = [e for e in item.elements if e.get("id", "") in heads[1]]
    head = next((e for e in own if e.get("id", "") in heads[0]), own[0])
    return Item("chord", item.at, item.length, [_tapped(layout, head, voice, pitch)], voice)


def _tapped(layout: Layout, head: Element, voice: str, pitch: Pitch) -> Element:
    """A copy of a head, with its id, value and ties and nothing else, on the key of its hand."""
    new = copy.deepcopy(head)
    tied = [copy.deepcopy(t) for n in new.findall("notations") for t in n.findall("tied")]
    take_off(new, ("chord", "accidental", "stem", "notehead", "beam", "notations", "lyric", "cue"))
    old = new.find("pitch")
    if old is not None:
        new.replace(old, pitch_element(pitch))
    if tied:
        node = etree.SubElement(new, "notations")
        node.extend(tied)
    new.set("id", head.get("id", "") or layout.fresh("tap"))
    _to_voice(new, voice)
    return new


def _to_voice(note: Element, voice: str) -> None:
    for tag, text in (("voice", voice), ("staff", "1")):
        for node in note.findall(tag):
            node.text = text


def _joined(
    layout: Layout, sheet: Sheet, time: TimeSignature, line: _Line, chords: Sequence[Item]
) -> list[Item]:
    """One line of what several voices strike: each tap lasts to the next, or as long as its note."""
    voice, struck, _, pitch = line
    first: dict[Fraction, tuple[Element, Fraction]] = {}
    for item in sorted(chords, key=lambda i: (i.at, -i.length)):
        head = next((e for e in item.elements if e.get("id", "") in struck), None)
        if head is not None and item.length:
            first.setdefault(item.at, (head, item.length))
    places = sorted(first)
    rows: list[Item] = []
    for at in places:
        head, length = first[at]
        later = bisect_right(places, at)
        until = places[later] if later < len(places) else min(at + length, sheet.length)
        new = _tapped(layout, head, voice, pitch)
        for tie in new.findall("tie") + new.findall("notations"):
            new.remove(tie)
        rows.append(Item("chord", at, until - at, [new], voice))
    return _with_rests(layout, sheet, time, rows)


def _with_rests(layout: Layout, sheet: Sheet, time: TimeSignature, rows: list[Item]) -> list[Item]:
    if not rows:
        return []
    start, end = rows[0].at, rows[-1].end
    like = rows[0].main
    if start > 0:
        rows = [*rest_items(layout, like, (Fraction(0), start), time), *rows]
    if end < sheet.length:
        rows = [*rows, *rest_items(layout, like, (end, sheet.length - end), time)]
    return rows
