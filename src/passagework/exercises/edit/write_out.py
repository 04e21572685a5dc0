"""One note of the page written out as several: what its sign stands for, in values that can be counted."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.printed import printed_of, put, take_off
from passagework.exercises.edit.tuplets import notations_of
from passagework.exercises.edit.unfold import Item, Layout, Sheet, unfold
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import Pitch

FINEST = Fraction(1, 16)
"""Quarters of the shortest value that is written out: nothing finer is counted."""

_NOT_ON_COPIES = ("tie", "accidental", "beam", "notations", "lyric", "stem", "play", "listen")


@dataclass(frozen=True, slots=True)
class Stroke:
    """A note or chord in what is written out."""

    length: Fraction
    """Quarters."""
    pitches: tuple[Pitch, ...] = ()
    """Empty for the notes that stand on the page."""


def unit_of(item: Item) -> Fraction:
    """Quarters of the largest value of which the item's printed value is a whole number: a third of a dotted
    one; halves of it can be printed in the item's own tuplet.
    """
    printed = printed_of(item.main)
    return item.length / (2 ** (printed.dots + 1) - 1) if printed and printed.dots else item.length


def write_out(notation: Notation, figures: Mapping[str, Sequence[Stroke]]) -> Notation:
    """The chord or note that holds each head of `figures` as the strokes given, which together are as long.

    Its own heads keep their ids in the first stroke that has the page's notes; other strokes get new ids.
    Grace notes that lean on it, and ornament and tremolo signs at it, go.
    """
    layout = unfold(notation)
    for sheet in layout.sheets:
        items: list[Item] = []
        for item in sheet.items:
            figure = next((figures[i] for i in item.ids if i in figures), None)
            if figure is None or item.kind != "chord":
                items.append(item)
                continue
            sheet.touch(item)
            items = [i for i in items if not _leans(i, item)]
            items += _strokes(layout, sheet, item, figure)
        sheet.items = items
    return finish(layout)


def _leans(grace: Item, item: Item) -> bool:
    return grace.kind == "grace" and grace.voice == item.voice and grace.at == item.at


def _strokes(layout: Layout, sheet: Sheet, item: Item, figure: Sequence[Stroke]) -> list[Item]:
    for element in item.elements:
        if any(n.find("ornaments/tremolo") is not None for n in element.findall("notations")):
            take_off(
                element, ("type", "dot", "time-modification")
            )  # each half says the whole value
        without_signs(element)
        take_off(element, ("accidental",))
    plain = [copy.deepcopy(e) for e in item.elements]
    rows: list[Item] = []
    at, own = item.at, False
    for stroke in figure:
        if stroke.pitches:
            heads = [_head(layout, plain[0], pitch) for pitch in stroke.pitches]
            for head in heads[1:]:
                head.insert(0, etree.Element("chord"))
        elif own:
            heads = [_head(layout, e, None) for e in plain]
        else:
            heads, own = item.elements, True
        rows.append(Item("chord", at, stroke.length, heads, item.voice, changed=True))
        at += stroke.length
    _lead_on(item.elements[0], rows)
    sheet.staves_touched.update(e.findtext("staff") or "1" for e in plain)
    return rows


def _head(layout: Layout, like: Element, pitch: Pitch | None) -> Element:
    new = copy.deepcopy(like)
    new.set("id", layout.fresh(like.get("id", "note")))
    take_off(new, _NOT_ON_COPIES)
    if pitch is not None:
        take_off(new, ("chord",))
        old = new.find("pitch")
        if old is not None:
            for node in list(old):
                old.remove(node)
            etree.SubElement(old, "step").text = pitch.step
            if pitch.alter:
                etree.SubElement(old, "alter").text = str(pitch.alter)
            etree.SubElement(old, "octave").text = str(pitch.octave)
    return new


def _lead_on(main: Element, rows: Sequence[Item]) -> None:
    """Move ends of slurs and fermatas to the last stroke, and beginnings of slurs to the first."""
    first, last = rows[0].main, rows[-1].main
    for notations in main.findall("notations"):
        for node in list(notations):
            late = node.tag == "fermata" or (node.tag == "slur" and node.get("type") == "stop")
            early = node.tag == "slur" and node.get("type") == "start"
            target = last if late else first if early else main
            if target is not main:
                notations.remove(node)
                notations_of(target).append(node)
        if len(notations) == 0 and notations.getparent() is main:
            main.remove(notations)


def without_signs(note: Element) -> None:
    """Take the ornament signs (tremolos too) off a head."""
    for notations in note.findall("notations"):
        for node in notations.findall("ornaments"):
            notations.remove(node)
        for node in notations.findall("accidental-mark"):
            notations.remove(node)
        if len(notations) == 0:
            note.remove(notations)


def graces_in_time(notation: Notation, values: Mapping[str, Fraction]) -> Notation:
    """Grace notes as notes in time, on the beat: `values` gives for heads of the notes they lean on how long
    each of their graces lasts (quarters). What is left of the note follows them; all ids stay.
    """
    layout = unfold(notation)
    for sheet in layout.sheets:
        for item in list(sheet.items):
            value = next((values[i] for i in item.ids if i in values), None)
            if value is None or item.kind != "chord":
                continue
            graces = [i for i in sheet.items if _leans(i, item)]
            if not graces or value * len(graces) >= item.length:
                continue
            _place(sheet, item, graces, value)
    return finish(layout)


def _place(sheet: Sheet, item: Item, graces: Sequence[Item], value: Fraction) -> None:
    printed = item.main.find("time-modification")
    chords: list[list[Element]] = []
    for grace in graces:
        if grace.main.find("chord") is not None and chords:
            chords[-1].append(grace.main)
        else:
            chords.append([grace.main])
    new: list[Item] = []
    for k, heads in enumerate(chords):
        for head in heads:
            take_off(head, ("grace", "beam", "stem", "time-modification"))
            if printed is not None:
                put(head, copy.deepcopy(printed))
        new.append(Item("chord", item.at + k * value, value, heads, item.voice, changed=True))
    item.at += len(chords) * value
    item.length -= len(chords) * value
    item.changed = True
    at = next(k for k, i in enumerate(sheet.items) if i is item)
    rows = sheet.items[:at] + new + sheet.items[at:]
    sheet.items = [i for i in rows if not any(i is g for g in graces)]
    sheet.touch(item)
