"""Fingers written into the notation, as MusicXML's ``notations/technical/fingering``."""

from __future__ import annotations

from collections.abc import Collection

from lxml import etree

from passagework.hands.editorial import editorial
from passagework.hands.fingering import Fingering
from passagework.score.markup import Element
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation

_AFTER_NOTATIONS = frozenset({"lyric", "play", "listen"})
"""Elements of a note that must come after its notations."""


def write_fingering(
    notation: Notation, fingering: Fingering, *, sparse: bool = False, replace: bool = False
) -> Notation:
    """A copy of `notation` with `fingering` on its notes; continuations of ties get none.

    With `sparse` only the notes get a number on which an editor would print one. Printed fingers stay
    as they are, except those that `fingering` overrules, unless `replace` takes them all out first.
    """
    chosen: Collection[str] = fingering.fingers
    if sparse:
        chosen = editorial(fingering, read_piece(notation))
    written = notation.copy()
    for note in written.notes():
        own = note.get("id", "")
        printed = note.findall("notations/technical/fingering")
        if printed and (replace or own in fingering.overruled):
            _take_out(note, printed)
            printed = []
        wanted = own in chosen or own in fingering.overruled
        if wanted and not printed and own in fingering.fingers and note.find("pitch") is not None:
            if note.get("print-object") == "no":
                continue
            _put_in(note, fingering.fingers[own], fingering.side_of(own))
    return written


def _take_out(note: Element, printed: list[Element]) -> None:
    for fingering in printed:
        technical = fingering.getparent()
        assert technical is not None
        technical.remove(fingering)
        if len(technical) == 0:
            notations = technical.getparent()
            assert notations is not None
            notations.remove(technical)
            if len(notations) == 0:
                note.remove(notations)


def _put_in(note: Element, fingers: tuple[int, ...], side: str) -> None:
    notations = note.find("notations")
    if notations is None:
        notations = etree.Element("notations")
        place = next((i for i, c in enumerate(note) if c.tag in _AFTER_NOTATIONS), len(note))
        note.insert(place, notations)
    technical = notations.find("technical")
    if technical is None:
        technical = etree.SubElement(notations, "technical")
    for number, finger in enumerate(fingers):
        element = etree.SubElement(technical, "fingering")
        if number:
            element.set("substitution", "yes")
        element.set("placement", "below" if side == "left" else "above")
        element.text = str(finger)
