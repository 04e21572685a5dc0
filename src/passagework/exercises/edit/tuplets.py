"""Tuplet signs set anew: one number or bracket to each whole group."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.printed import printed_of, put
from passagework.exercises.edit.unfold import Item
from passagework.score.markup import Element
from passagework.score.piece import Tuplet
from passagework.score.values import TYPE_QUARTERS


def bracket_voice(row: Sequence[Item]) -> None:
    """Set the tuplet signs of one voice of a bar anew; `row` holds its items in order.

    Where the page leaves the numbers out (after the first bars of a piece in triplets), so does this.
    """
    timed = [item for item in row if item.timed]
    tupled = [item for item in timed if _tuplet(item)]
    before = [s for item in tupled if not item.changed for s in _signs(item.main)]
    old = [item for item in tupled if not item.changed]
    shown = [s for s in before if s.get("show-number") != "none"]
    quiet = bool(old) and not shown
    for item in timed:
        for element in item.elements:
            for sign in _signs(element):
                _remove(sign)
    for group in _groups(timed):
        _mark(group, quiet)


def _tuplet(item: Item) -> Tuplet | None:
    printed = printed_of(item.main)
    return printed.tuplet if printed else None


def _groups(timed: Sequence[Item]) -> list[list[Item]]:
    """Consecutive items of one tuplet, divided where a whole group is full."""
    groups: list[list[Item]] = []
    open_: list[Item] = []
    for item in timed:
        kind = _tuplet(item)
        if open_ and (kind != _tuplet(open_[-1]) or item.at != open_[-1].end):
            groups.append(open_)
            open_ = []
        if kind:
            open_.append(item)
            if _full(open_, kind):
                groups.append(open_)
                open_ = []
    if open_:
        groups.append(open_)
    return groups


def _full(group: Sequence[Item], kind: Tuplet) -> bool:
    """Whether the group lasts a multiple of ``normal`` of its smallest undotted value."""
    values = [TYPE_QUARTERS[p.kind] for item in group if (p := printed_of(item.main))]
    unit = kind.normal * min(values)
    length = sum((item.length for item in group), Fraction(0))
    return length % unit == 0 and (length / unit).numerator in {1, 2, 4}


def _mark(group: Sequence[Item], quiet: bool) -> None:
    if len(group) < 2:
        quiet = True  # half a group: its other notes were taken out
    beamed = all(item.main.find("beam") is not None for item in group)
    for kind, item in (("start", group[0]), ("stop", group[-1])):
        sign = etree.Element("tuplet", type=kind)
        if kind == "start":
            sign.set("bracket", "no" if beamed or quiet else "yes")
            if quiet:
                sign.set("show-number", "none")
        notations_of(item.main).append(sign)


def notations_of(note: Element) -> Element:
    """The ``notations`` of a note, made where missing."""
    found = note.find("notations")
    if found is None:
        found = etree.Element("notations")
        put(note, found)
    return found


def _signs(note: Element) -> list[Element]:
    return [s for notations in note.findall("notations") for s in notations.findall("tuplet")]


def _remove(sign: Element) -> None:
    notations = sign.getparent()
    assert notations is not None
    notations.remove(sign)
    note = notations.getparent()
    if len(notations) == 0 and note is not None:
        note.remove(notations)
