"""The tempo of a step in its notation: the piece's own marks taken off, the step's written instead."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.values import TYPE_QUARTERS

_KINDS = {length: (kind, 0) for kind, length in TYPE_QUARTERS.items()}
_KINDS |= {length * Fraction(3, 2): (kind, 1) for kind, length in TYPE_QUARTERS.items()}


def without_tempo(notation: Notation) -> Notation:
    """Without metronome marks and playback tempos: a step goes at its own."""
    work = notation.copy()
    for direction in list(work.part.iter("direction")):
        for kind in direction.findall("direction-type"):
            for mark in kind.findall("metronome"):
                kind.remove(mark)
            if len(kind) == 0:
                direction.remove(kind)
        for sound in direction.findall("sound"):
            _quiet(sound)
        parent = direction.getparent()
        if direction.find("direction-type") is None and parent is not None:
            parent.remove(direction)
    for sound in list(work.part.iter("sound")):
        _quiet(sound)
    return work


def _quiet(sound: Element) -> None:
    if "tempo" in sound.attrib:
        del sound.attrib["tempo"]
    parent = sound.getparent()
    if not sound.attrib and len(sound) == 0 and parent is not None:
        parent.remove(sound)


def with_tempo(notation: Notation, beat: Fraction, per_minute: float) -> Notation:
    """With one metronome mark at its head and no other: for files that are played or opened elsewhere.

    A `beat` (in quarters) that has no printed value is written as playback tempo only.
    """
    work = without_tempo(notation)
    measure = work.measures[0]
    direction = etree.Element("direction", placement="above", id=_fresh(work, "tempo"))
    named = _KINDS.get(beat)
    kind = etree.SubElement(direction, "direction-type")
    if named:
        mark = etree.SubElement(kind, "metronome")
        etree.SubElement(mark, "beat-unit").text = named[0]
        for _ in range(named[1]):
            etree.SubElement(mark, "beat-unit-dot")
        etree.SubElement(mark, "per-minute").text = f"{per_minute:g}"
    else:
        etree.SubElement(kind, "words").text = ""
    etree.SubElement(direction, "staff").text = "1"
    etree.SubElement(direction, "sound", tempo=f"{float(beat) * per_minute:g}")
    heads = {"attributes", "print", "barline"}
    place = next((i for i, c in enumerate(measure) if c.tag not in heads), len(measure))
    measure.insert(place, direction)
    return work


def _fresh(notation: Notation, stem: str) -> str:
    taken = {e.get("id") for e in notation.root.iter()}
    count = 1
    while f"{stem}-{count}" in taken:
        count += 1
    return f"{stem}-{count}"
