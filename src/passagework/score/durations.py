"""One value of ``divisions`` for the whole file, by which every duration is exact.

Programs write tuplets in ticks that cannot hold them (a septuplet semiquaver in 480 ticks a quarter
is 68 4/7), change ``divisions`` within a part, or leave nonsense in a field. Here each duration
becomes the fraction that its printed value says where the two differ by rounding only; everything
else stays as the file has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from lxml import etree

from passagework.score.limits import MAX_DIVISIONS, MAX_QUARTERS
from passagework.score.markup import Element
from passagework.score.warnings import Warnings

TYPE_QUARTERS = {
    "1024th": Fraction(1, 256),
    "512th": Fraction(1, 128),
    "256th": Fraction(1, 64),
    "128th": Fraction(1, 32),
    "64th": Fraction(1, 16),
    "32nd": Fraction(1, 8),
    "16th": Fraction(1, 4),
    "eighth": Fraction(1, 2),
    "quarter": Fraction(1),
    "half": Fraction(2),
    "whole": Fraction(4),
    "breve": Fraction(8),
    "long": Fraction(16),
    "maxima": Fraction(32),
}

FALLBACK_DIVISIONS = 10_080
"""A grid of 2^5 * 3^2 * 5 * 7 for files whose durations have no common measure within reason."""

_TIMED = ("note", "backup", "forward")


def exact_durations(parts: Sequence[Element], warnings: Warnings) -> int:
    """Rewrite every duration of `parts` (in place) in one tick, and give the ticks to a quarter.

    ``divisions`` elements are removed; the caller writes the new value into the first measure.
    """
    jobs: list[tuple[Element, Fraction]] = []
    for part in parts:
        divisions = Fraction(1)
        for measure in part.iter("measure"):
            divisions = _measure(measure, divisions, jobs, warnings)
    ticks = lcm(*{value.denominator for _, value in jobs}, 1)
    if ticks > MAX_DIVISIONS:
        ticks = FALLBACK_DIVISIONS
        warnings.add("some durations have no common measure and were rounded to a fine grid")
    for element, value in jobs:
        element.text = str(round(value * ticks))
    return ticks


def _measure(
    measure: Element,
    divisions: Fraction,
    jobs: list[tuple[Element, Fraction]],
    warnings: Warnings,
) -> Fraction:
    """Collect the exact durations of one measure; gives the divisions in force after it."""
    bar = measure.get("number", "")
    written = Fraction(0)  # position as the file counts, in quarters
    exact = Fraction(0)  # position after repair
    exact_of = {written: exact}
    for child in list(measure):
        tag = child.tag
        if tag == "attributes":
            divisions = _divisions(child, divisions, bar, warnings)
        elif tag in _TIMED:
            length = _written(child, divisions, bar, warnings)
            if tag == "note":
                if child.find("grace") is not None:
                    for node in child.findall("duration"):
                        child.remove(node)
                    continue
                value = _repair(child, length, divisions)
                _store(child, value, jobs)
                if child.find("chord") is not None:
                    continue
                written += length or value
                exact += value
            elif tag == "forward":
                written += length or 0
                target = exact_of.get(written, exact + (length or 0))
                _store(child, max(target - exact, Fraction(0)), jobs)
                exact = max(target, exact)
            else:
                written -= length or 0
                if written < 0:
                    warnings.add("a backup leads before the bar line; taken as the bar line", bar)
                    written = Fraction(0)
                target = min(max(exact_of.get(written, written), Fraction(0)), exact)
                _store(child, exact - target, jobs)
                exact = target
            exact_of.setdefault(written, exact)
        else:
            _scale_offsets(child, divisions, jobs)
    return divisions


def _divisions(attributes: Element, now: Fraction, bar: str, warnings: Warnings) -> Fraction:
    for node in attributes.findall("divisions"):
        value = number(node.text)
        if value is None or not 0 < value <= MAX_DIVISIONS:
            warnings.add("the divisions are not a number that can be used; the last ones kept", bar)
        else:
            now = value
        attributes.remove(node)
    return now


def _written(
    element: Element, divisions: Fraction, bar: str, warnings: Warnings
) -> Fraction | None:
    """The duration that the file gives, in quarters; None where it gives none that can be believed."""
    value = number(element.findtext("duration"))
    if value is not None and 0 <= value <= MAX_QUARTERS * divisions:
        return value / divisions
    if element.tag != "note" or element.find("grace") is None:
        warnings.add("a duration is missing or not believable; taken from the printed value", bar)
    return None


def _repair(note: Element, length: Fraction | None, divisions: Fraction) -> Fraction:
    """The exact duration of a note: as written, or as printed where the ticks were too coarse."""
    if length is not None and length > 0:
        denominator = length.denominator
        if denominator & (denominator - 1) == 0 and note.find("time-modification") is None:
            return length
    printed = printed_value(note)
    if printed is None:
        return length or Fraction(0)
    if length is None or length == 0:
        return printed if length is None else length
    off = abs(printed - length) * divisions
    if 0 < off < 1 and (printed * divisions).denominator != 1:
        return printed
    return length


def printed_value(note: Element) -> Fraction | None:
    """Duration in quarters that type, dots and tuplet of a ``note`` say; None without a type."""
    base = TYPE_QUARTERS.get((note.findtext("type") or "").strip())
    if base is None:
        return None
    dots = min(len(note.findall("dot")), 4)
    value = base * (2 - Fraction(1, 2**dots))
    modification = note.find("time-modification")
    if modification is not None:
        actual = number(modification.findtext("actual-notes"))
        normal = number(modification.findtext("normal-notes"))
        if actual and normal and 0 < actual <= 128 and 0 < normal <= 128:
            value = value * normal / actual
    return value


def number(text: str | None) -> Fraction | None:
    """`text` as an exact number, or None where it is not one of a believable size."""
    text = (text or "").strip()
    if not text or len(text) > 24 or not text.isascii():
        return None
    sign = text[0] in "+-"
    body = text[1:] if sign else text
    if not body.replace(".", "", 1).isdigit():
        return None
    return Fraction(text)


def _store(element: Element, value: Fraction, jobs: list[tuple[Element, Fraction]]) -> None:
    node = element.find("duration")
    if node is None:
        node = etree.Element("duration")
        element.insert(_duration_place(element), node)
    jobs.append((node, value))


def _duration_place(element: Element) -> int:
    """Index at which MusicXML wants ``duration``: after the pitch, rest or chord of a note."""
    place = 0
    for index, child in enumerate(element):
        if child.tag in {"chord", "pitch", "rest", "unpitched", "cue"}:
            place = index + 1
    return place


def _scale_offsets(
    element: Element, divisions: Fraction, jobs: list[tuple[Element, Fraction]]
) -> None:
    """Offsets and figured-bass durations count in the same ticks."""
    for tag in ("offset", "duration"):
        for node in element.iter(tag):
            value = number(node.text)
            if value is None or abs(value) > MAX_QUARTERS * divisions:
                value = Fraction(0)
            jobs.append((node, value / divisions))
