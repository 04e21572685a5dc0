"""Notation made from small templates: a scale, a row of chords, a rhythm to count, in the normal form.

What is made is one or two staves of plain values, put together as a laid-out notation
(`passagework.exercises.edit.unfold`) and finished as every edited one is, so that beams, ties, tuplet signs,
rests and accidentals follow the same rules.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.at_notes import print_finger, say_under
from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import time_element
from passagework.exercises.edit.unfold import Item, Layout, Sheet
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import Pitch, TimeSignature

CLEFS = {"G": "2", "F": "4"}


@dataclass(frozen=True, slots=True)
class Sound:
    """A note, a chord or (without pitches) a rest of a template."""

    length: Fraction
    """Quarters."""
    pitches: tuple[Pitch, ...] = ()
    """Lowest first."""
    text: str = ""
    """Printed under it, to be said aloud."""
    fingers: tuple[int, ...] = ()
    """One for each pitch, or none."""
    ids: tuple[str, ...] = ()
    """Ids of the piece's notes that are struck, one for each pitch, or none: the heads take their names where these
    are still free, so that the step can be compared with the piece."""


@dataclass(frozen=True, slots=True)
class Line:
    """One voice of a template: a staff (1 the upper) and its sounds, bar after bar."""

    staff: int
    bars: tuple[tuple[Sound, ...], ...]


def make(
    lines: Sequence[Line], clefs: Sequence[str], time: TimeSignature, fifths: int = 0
) -> Notation:
    """The notation of `lines`, on as many staves as there are `clefs` (``G`` or ``F``).

    Every line has the same number of bars, and a bar is as long as its sounds.
    Raises `DoesNotFitError` where a length cannot be printed.
    """
    root = etree.Element("score-partwise", version="4.0")
    names = etree.SubElement(etree.SubElement(root, "part-list"), "score-part", id="P1")
    etree.SubElement(names, "part-name").text = ""
    etree.SubElement(root, "part", id="P1")
    layout = Layout(Notation(root), [], 1)
    for index in range(len(lines[0].bars)):
        measure = etree.Element("measure", number=str(index + 1), id=layout.fresh("made"))
        items: list[Item] = []
        if index == 0:
            items.append(Item("other", Fraction(0), Fraction(0), [_head(clefs, time, fifths)]))
        for voice, line in enumerate(lines, start=1):
            items += _voice(layout, line.bars[index], str(voice), str(line.staff))
        length = max((i.end for i in items), default=time.length)
        sheet = Sheet(measure, items, length)
        for item in items:
            if item.timed:
                sheet.touch(item)
        layout.sheets.append(sheet)
    return finish(layout)


def _head(clefs: Sequence[str], time: TimeSignature, fifths: int) -> Element:
    head = etree.Element("attributes")
    etree.SubElement(head, "divisions").text = "1"
    etree.SubElement(etree.SubElement(head, "key"), "fifths").text = str(fifths)
    head.append(time_element(time))
    if len(clefs) > 1:
        etree.SubElement(head, "staves").text = str(len(clefs))
    for number, sign in enumerate(clefs, start=1):
        clef = etree.SubElement(head, "clef", number=str(number))
        etree.SubElement(clef, "sign").text = sign
        etree.SubElement(clef, "line").text = CLEFS[sign]
    return head


def _voice(layout: Layout, sounds: Sequence[Sound], voice: str, staff: str) -> list[Item]:
    items: list[Item] = []
    at = Fraction(0)
    for sound in sounds:
        if sound.pitches:
            heads = [head_of(layout, pitch, voice, staff) for pitch in sound.pitches]
            for head in heads[1:]:
                head.insert(0, etree.Element("chord"))
            if sound.text:
                say_under(heads[0], sound.text)
            for head, finger in zip(heads, sound.fingers, strict=False):
                print_finger(head, finger)
            for head, name in zip(heads, sound.ids, strict=False):
                if name not in layout.taken:
                    layout.taken.add(name)
                    head.set("id", name)
            items.append(Item("chord", at, sound.length, heads, voice, changed=True))
        else:
            rest = etree.Element("note", id=layout.fresh("made"))
            etree.SubElement(rest, "rest")
            etree.SubElement(rest, "voice").text = voice
            etree.SubElement(rest, "staff").text = staff
            items.append(Item("rest", at, sound.length, [rest], voice, changed=True))
        at += sound.length
    return items


def head_of(layout: Layout, pitch: Pitch, voice: str, staff: str) -> Element:
    """A notehead with a new id; its value is written when the layout is finished."""
    head = etree.Element("note", id=layout.fresh("made"))
    head.append(pitch_element(pitch))
    etree.SubElement(head, "voice").text = voice
    etree.SubElement(head, "staff").text = staff
    return head


def pitch_element(pitch: Pitch) -> Element:
    """The ``pitch`` of a note."""
    node = etree.Element("pitch")
    etree.SubElement(node, "step").text = pitch.step
    if pitch.alter:
        etree.SubElement(node, "alter").text = str(pitch.alter)
    etree.SubElement(node, "octave").text = str(pitch.octave)
    return node
