"""Note values halved or doubled, with the metre and the metronome marks: the same music, written otherwise."""

from __future__ import annotations

from fractions import Fraction

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import time_element, times
from passagework.exercises.edit.printed import Printed, printed_of, take_off, write_value
from passagework.exercises.edit.unfold import unfold
from passagework.exercises.exercise import DoesNotFitError
from passagework.score.markup import Element
from passagework.score.metre import BEAT_TYPES
from passagework.score.notation import Notation
from passagework.score.piece import TimeSignature
from passagework.score.values import TYPE_QUARTERS

_BY_LENGTH = {length: kind for kind, length in TYPE_QUARTERS.items()}

HALF, DOUBLE = Fraction(1, 2), Fraction(2)


def scale_values(notation: Notation, factor: Fraction) -> Notation:
    """Every value times `factor` (`HALF` or `DOUBLE`). Tuplets and dots stay; beams are set anew.

    A bar of 4/4 becomes one of 4/8 or 4/2. Raises `ValueError` for another factor, `DoesNotFitError`
    where a value has no name.
    """
    if factor not in {HALF, DOUBLE}:
        raise ValueError("values can be halved or doubled")
    layout = unfold(notation)
    metres = [_scaled(metre, factor) for metre in times(layout)]
    for sheet, metre in zip(layout.sheets, metres, strict=True):
        sheet.length *= factor
        for item in sheet.items:
            item.at *= factor
            item.length *= factor
            if item.offset is not None:
                item.offset *= factor
            if item.kind == "other":
                _signs(item.main, metre, factor)
                continue
            sheet.touch(item)
            for element in item.elements:
                _take_duration(element)
                value = printed_of(element)
                if value is not None and item.kind != "grace":
                    write_value(element, _value(value, factor))
    return finish(layout)


def _scaled(metre: TimeSignature, factor: Fraction) -> TimeSignature:
    kind = metre.beat_type / factor
    if kind.denominator == 1 and int(kind) in BEAT_TYPES:
        return TimeSignature(metre.beats, int(kind), printed=metre.printed)
    beats = tuple(int(b * factor) for b in metre.beats)
    return TimeSignature(beats, metre.beat_type, printed=metre.printed)


def _value(value: Printed, factor: Fraction) -> Printed:
    kind = _BY_LENGTH.get(TYPE_QUARTERS[value.kind] * factor)
    if kind is None:
        raise DoesNotFitError(f"a {value.kind} note cannot be written {factor} times as long")
    return Printed(kind, value.dots, value.tuplet)


def _signs(element: Element, metre: TimeSignature, factor: Fraction) -> None:
    if element.tag == "attributes":
        for old in element.findall("time"):
            if old.find("senza-misura") is None:
                element.replace(old, time_element(metre))
    for unit in element.iter("beat-unit"):
        length = TYPE_QUARTERS.get((unit.text or "").strip())
        kind = _BY_LENGTH.get(length * factor) if length else None
        if kind:
            unit.text = kind
    for sound in (element, *element.findall("sound")):
        if sound.tag == "sound" and sound.get("tempo"):
            try:
                sound.set("tempo", f"{float(sound.get('tempo') or 0) * float(factor):g}")
            except ValueError:
                del sound.attrib["tempo"]


def _take_duration(element: Element) -> None:
    """All heads of a chord last as long as the chord, which is written when the bar is."""
    if element.find("chord") is not None:
        take_off(element, ("duration",))
