"""Which printed values say a length: one note, or several tied, in a tuplet or not; and writing them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from lxml import etree

from passagework.exercises.exercise import DoesNotFitError
from passagework.score.markup import Element
from passagework.score.piece import TimeSignature, Tuplet
from passagework.score.values import TYPE_QUARTERS, plain_value, tuplet_of

MOST_DOTS = 1
"""Dots on a value that is set anew: a second dot is hard to read and never needed beside a tie."""

SHORTEST = Fraction(1, 32)
"""Quarters of the shortest value that is set anew (a 128th)."""

TUPLETS = tuple(
    Tuplet(*pair) for pair in ((3, 2), (6, 4), (5, 4), (7, 4), (9, 8), (7, 8), (2, 3), (4, 3))
)
"""Tuplets in common use, the likelier first: what a length that no plain value says is looked up in."""

MOST_TIED = 4
"""Heads that one length may be split into."""

_ORDER = ("grace", "cue", "chord", "pitch", "unpitched", "rest", "duration", "tie", "instrument",
          "footnote", "level", "voice", "type", "dot", "accidental", "time-modification", "stem",
          "notehead", "notehead-text", "staff", "beam", "notations", "lyric", "play", "listen")  # fmt: skip
"""Children of a note in the order of MusicXML's schema."""

_PLACE = {tag: at for at, tag in enumerate(_ORDER)}


@dataclass(frozen=True, slots=True)
class Printed:
    """A printed value: MusicXML's type, dots and tuplet."""

    kind: str
    dots: int = 0
    tuplet: Tuplet | None = None

    @property
    def length(self) -> Fraction:
        """Quarters that it lasts."""
        value = plain_value(self.kind, self.dots)
        return value * self.tuplet.normal / self.tuplet.actual if self.tuplet else value


_PLAIN = {plain_value(kind, dots): (kind, dots)
          for kind, base in TYPE_QUARTERS.items() if SHORTEST <= base <= 8
          for dots in range(MOST_DOTS + 1)}  # fmt: skip


@lru_cache(maxsize=4096)
def one_value(length: Fraction, tuplet: Tuplet | None = None) -> Printed | None:
    """The one printed value that lasts `length` quarters within `tuplet`; None where there is none."""
    scaled = length * tuplet.actual / tuplet.normal if tuplet else length
    found = _PLAIN.get(scaled)
    return Printed(found[0], found[1], tuplet) if found else None


@lru_cache(maxsize=4096)
def values_of(
    at: Fraction, length: Fraction, time: TimeSignature, tuplet: Tuplet | None = None
) -> tuple[Printed, ...]:
    """Printed values for `length` quarters that begin `at` quarters into a bar of `time`.

    One value where one will do (in `tuplet` if given, plain, or in a common tuplet), else values tied
    at the beats of the bar. Raises `DoesNotFitError` where no few values say it.
    """
    within = one_value(length, tuplet) if tuplet else None
    if within and not within.dots:
        return (within,)
    found = one_value(length)
    if found:
        return _split(at, length, time) if _hides_the_beat(at, length, time) else (found,)
    if within:
        return (within,)
    for candidate in TUPLETS:
        found = one_value(length, candidate)
        if found and not found.dots:
            return (found,)
    return _split(at, length, time)


def _hides_the_beat(at: Fraction, length: Fraction, time: TimeSignature) -> bool:
    """Whether one value here would hide the middle of a bar or a beat that a reader counts by."""
    end = at + length
    beat = time.beat
    if at % beat == 0 or length < beat:
        return False
    first = (at // beat + 1) * beat  # the first beat inside
    inside = end - first
    return inside > 0 and (at - (at // beat) * beat) != beat / 2 and inside != beat / 2


def _split(at: Fraction, length: Fraction, time: TimeSignature) -> tuple[Printed, ...]:
    rows: list[Printed] = []
    end = at + length
    while at < end:
        rest = end - at
        next_beat = (at // time.beat + 1) * time.beat
        reach = [rest] if at % time.beat == 0 else [min(rest, next_beat - at)]
        part = _largest(reach[0])
        if part is None or len(rows) == MOST_TIED:
            raise DoesNotFitError(f"no printed value says {length} of a crotchet")
        rows.append(part)
        at += part.length
    return tuple(rows)


def _largest(most: Fraction) -> Printed | None:
    """The largest plain value that lasts no longer than `most` and leaves something that can be said."""
    for value in sorted(_PLAIN, reverse=True):
        if value == most:
            return Printed(*_PLAIN[value])
    for value in sorted(_PLAIN, reverse=True):
        rest = most - value
        if rest > 0 and (rest in _PLAIN or rest % SHORTEST == 0 or _in_a_tuplet(rest)):
            return Printed(*_PLAIN[value])
    return next((v for t in TUPLETS if (v := one_value(most, t))), None)


def _in_a_tuplet(length: Fraction) -> bool:
    return any((v := one_value(length, t)) and not v.dots for t in TUPLETS)


def printed_of(note: Element) -> Printed | None:
    """The value that a note says; None where it gives no type (a rest for the whole bar)."""
    kind = (note.findtext("type") or "").strip()
    if kind not in TYPE_QUARTERS:
        return None
    return Printed(kind, len(note.findall("dot")), tuplet_of(note.find("time-modification")))


def write_value(note: Element, printed: Printed) -> None:
    """Write a printed value into a note, in place of the old one."""
    for tag in ("type", "dot", "time-modification"):
        for node in note.findall(tag):
            note.remove(node)
    kind = etree.Element("type")
    kind.text = printed.kind
    put(note, kind)
    for _ in range(printed.dots):
        put(note, etree.Element("dot"))
    if printed.tuplet:
        node = etree.Element("time-modification")
        etree.SubElement(node, "actual-notes").text = str(printed.tuplet.actual)
        etree.SubElement(node, "normal-notes").text = str(printed.tuplet.normal)
        put(note, node)


def put(note: Element, child: Element) -> None:
    """Insert `child` into a note at its place in the schema's order, after its like."""
    place = _PLACE[str(child.tag)]
    at = next(
        (i for i, other in enumerate(note) if _PLACE.get(str(other.tag), -1) > place), len(note)
    )
    note.insert(at, child)


def take_off(note: Element, tags: Iterable[str]) -> None:
    """Remove every child of those names."""
    for tag in tags:
        for node in note.findall(tag):
            note.remove(node)
