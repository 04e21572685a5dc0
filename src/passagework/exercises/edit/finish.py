"""From a changed layout to a clean page: values, ties between them, beams, tuplets, accidentals, slurs."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from itertools import pairwise

from lxml import etree

from passagework.exercises.edit.accidentals import show_needed
from passagework.exercises.edit.beams import beam_voice
from passagework.exercises.edit.metre import bar_offset, times
from passagework.exercises.edit.printed import (
    Printed,
    printed_of,
    put,
    take_off,
    values_of,
    write_value,
)
from passagework.exercises.edit.rests import rest_items
from passagework.exercises.edit.tuplets import bracket_voice, notations_of
from passagework.exercises.edit.unfold import Item, Layout, Sheet, fold
from passagework.score.cut_notes import set_notes_right
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import TimeSignature


def finish(layout: Layout) -> Notation:
    """Set everything right that a change of place, length or presence leaves undone; gives the notation.

    Raises `DoesNotFitError` where a length cannot be printed.
    """
    for index, (sheet, time) in enumerate(zip(layout.sheets, times(layout), strict=True)):
        _set_values(layout, index, sheet, time)
        rows = sheet.voices()
        for voice in sheet.voices_touched:
            if voice in rows:
                beam_voice(index, sheet, rows[voice], time)
                bracket_voice(rows[voice])
    show_needed(layout)
    notation = fold(layout)
    set_notes_right(notation.measures, 0, notation.measures)
    return notation


def _set_values(layout: Layout, index: int, sheet: Sheet, time: TimeSignature) -> None:
    offset = bar_offset(index, sheet, time)
    result: list[Item] = []
    for item in sheet.items:
        if not (item.changed and item.timed):
            result.append(item)
            continue
        sheet.touch(item)
        if item.kind == "rest":
            result += _rests(layout, item, time)
            continue
        old = printed_of(item.main)
        values = values_of(item.at + offset, item.length, time, old.tuplet if old else None)
        result += _split(layout, item, values)
    sheet.items = result


def _rests(layout: Layout, item: Item, time: TimeSignature) -> list[Item]:
    """The rest, said by as many rests as the metre wants; the first keeps the id."""
    old = printed_of(item.main)
    if old and old.length == item.length:
        return [item]
    new = rest_items(layout, item.main, (item.at, item.length), time)
    new[0].main.set("id", item.main.get("id", ""))
    if item.main.get("print-object") == "no":
        for row in new:
            row.main.set("print-object", "no")
    return new


def _split(layout: Layout, item: Item, values: Iterable[Printed]) -> list[Item]:
    """The chord as one or several tied ones, the first with the ids that it had."""
    first, *others = values
    heads = [copy.deepcopy(element) for element in item.elements]
    for element in item.elements:
        write_value(element, first)
    rows = [Item("chord", item.at, first.length, item.elements, item.voice, changed=True)]
    for value in others:
        copies = [_continuation(layout, element) for element in heads]
        for element in copies:
            write_value(element, value)
        rows.append(Item("chord", rows[-1].end, value.length, copies, item.voice, changed=True))
    if others:
        _tie(rows)
    return rows


def _continuation(layout: Layout, head: Element) -> Element:
    """A copy of a head as the later part of a tied note: nothing on it but the pitch."""
    new = copy.deepcopy(head)
    new.set("id", layout.fresh(head.get("id", "note")))
    take_off(new, ("tie", "accidental", "beam", "notations", "lyric", "stem", "play", "listen"))
    return new


LATE_SIGNS = frozenset({"fermata", "slur"})
"""What belongs to the last of tied heads: the end of a slur, a fermata."""


def _tie(rows: list[Item]) -> None:
    """Tie each chord of `rows` to the next, and lead what went out of the first out of the last."""
    first, last = rows[0].elements, rows[-1].elements
    for head, tail in zip(first, last, strict=True):
        outgoing = [t for t in head.findall("tie") if t.get("type") == "start"]
        for node in outgoing:
            head.remove(node)
        for notations in head.findall("notations"):
            for node in list(notations):
                late = node.tag == "tied" and node.get("type") == "start"
                late |= node.tag in LATE_SIGNS and node.get("type") != "start"
                if late:
                    notations_of(tail).append(node)
            if len(notations) == 0:
                head.remove(notations)
        for node in outgoing:
            put(tail, node)
    for one, other in pairwise(rows):
        for head, tail in zip(one.elements, other.elements, strict=True):
            tie(head, "start")
            tie(tail, "stop")


def tie(note: Element, kind: str) -> None:
    """Let a tie begin (``start``) or end (``stop``) at a head."""
    node = etree.Element("tie", type=kind)
    stops = note.findall("tie")
    put(note, node)
    if kind == "stop" and stops:  # the end of one tie is written before the start of the next
        note.remove(node)
        note.insert(note.index(stops[0]), node)
    notations_of(note).append(etree.Element("tied", type=kind))
