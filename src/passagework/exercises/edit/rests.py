"""Rests: divided as the metre wants it, and put where notes were."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.printed import (
    SHORTEST,
    TUPLETS,
    Printed,
    one_value,
    take_off,
    write_value,
)
from passagework.exercises.edit.unfold import Item, Layout
from passagework.score.markup import Element
from passagework.score.piece import TimeSignature
from passagework.score.values import TYPE_QUARTERS

_PLAIN = sorted(
    ((v, k) for k, v in TYPE_QUARTERS.items() if Fraction(1, 32) <= v <= 4), reverse=True
)


def rest_values(
    at: Fraction, length: Fraction, time: TimeSignature
) -> Iterator[tuple[Fraction, Fraction, Printed | None]]:
    """Place, length and printed value of the rests that fill `length` quarters from `at` in a bar.

    A rest never begins off the place that its own value has in the bar, and in metres with a dotted
    beat it fills up the beat first. A whole empty bar is one rest without a value.
    """
    if at == 0 and length == time.length:
        yield at, length, None
        return
    end = at + length
    while at < end:
        stop = min(end, (at // time.beat + 1) * time.beat)
        if _is_plain(at) and _is_plain(end):
            step = _step(at, end - at, time)
        elif at % time.beat == 0 and stop < end:
            step = _step(at, stop - at, time)
        else:
            step = _in_tuplet(stop - at)
        if step is None:
            yield at, end - at, None
            return
        yield at, step.length, step
        at += step.length


def _is_plain(place: Fraction) -> bool:
    """Whether a place lies on the grid of the plain values."""
    return (place / SHORTEST).denominator == 1


def _in_tuplet(length: Fraction) -> Printed | None:
    """The one tuplet value of that length, else the largest one of a tuplet that can say the rest too."""
    for tuplet in TUPLETS:
        found = one_value(length, tuplet)
        if found and not found.dots:
            return found
    for tuplet in TUPLETS:
        scaled = length * tuplet.actual / tuplet.normal
        if _is_plain(scaled):
            kind = next((kind for value, kind in _PLAIN if value <= scaled), None)
            if kind is not None:
                return Printed(kind, 0, tuplet)
    return None


def _step(at: Fraction, most: Fraction, time: TimeSignature) -> Printed | None:
    beat = time.beat
    if beat.numerator == 3:
        if at % beat == 0 and most >= beat:
            return one_value(beat)
        most = min(most, (at // beat + 1) * beat - at)
        at %= beat
    for value, kind in _PLAIN:
        if value <= most and at % value == 0:
            return Printed(kind)
    return next((Printed(kind) for value, kind in _PLAIN if value <= most), None)


def rest_items(
    layout: Layout, like: Element, place: tuple[Fraction, Fraction], time: TimeSignature
) -> list[Item]:
    """Rests from ``place[0]`` on, ``place[1]`` quarters long, in the voice and staff of the note `like`."""
    items: list[Item] = []
    for at, length, value in rest_values(*place, time):
        note = rest_element(layout, like)
        if value is None:
            take_off(note, ("type", "dot", "time-modification"))
            rest = note.find("rest")
            if rest is not None and at == 0 and length == time.length:
                rest.set("measure", "yes")
        else:
            write_value(note, value)
        voice = (like.findtext("voice") or "1").strip()
        items.append(Item("rest", at, length, [note], voice))
    return items


def rest_element(layout: Layout, like: Element, *, hidden: bool = False) -> Element:
    """A rest in the voice and staff of the note `like`, with its value, with a new id."""
    note = etree.Element("note")
    note.set("id", layout.fresh("rest"))
    if hidden:
        note.set("print-object", "no")
    etree.SubElement(note, "rest")
    etree.SubElement(note, "duration").text = like.findtext("duration") or "0"
    etree.SubElement(note, "voice").text = (like.findtext("voice") or "1").strip()
    for tag in ("type", "dot", "time-modification"):
        for node in like.findall(tag):
            new = etree.SubElement(note, tag)
            new.text = node.text
            for child in node:
                etree.SubElement(new, str(child.tag)).text = child.text
    etree.SubElement(note, "staff").text = like.findtext("staff") or "1"
    return note
