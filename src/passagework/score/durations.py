"""One value of ``divisions`` for the whole file, by which every duration is exact.

Programs write tuplets in ticks that cannot hold them (a septuplet semiquaver in 480 ticks a quarter
is 68 4/7), change ``divisions`` within a part, type a whole rest of four quarters into a bar of
three, or leave nonsense in a field. Here each duration becomes the fraction that its printed value
says where the two differ by rounding only, or where the printed values fill the bar and the typed
durations do not; everything else stays as the file has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm

from lxml import etree

from passagework.score.limits import MAX_DIVISIONS, MAX_QUARTERS
from passagework.score.markup import Element
from passagework.score.metre import COMMON_TIME, read_time
from passagework.score.numbers import number
from passagework.score.values import plain_value, tuplet_of
from passagework.score.warnings import Warnings

FALLBACK_DIVISIONS = 10_080
"""A grid of 2^5 * 3^2 * 5 * 7 for files whose durations have no common measure within reason."""

_BEFORE_DURATION = frozenset({"chord", "pitch", "rest", "unpitched", "cue", "grace"})

_Key = tuple[str | None, str, int, str | None, str | None, Fraction]


@dataclass(slots=True)
class _Timed:
    """A ``note``, ``backup`` or ``forward``: how far it leads as the file counts, and exactly."""

    element: Element
    node: Element | None
    kind: str
    length: Fraction
    value: Fraction
    printed: Fraction
    chord: bool = False
    rest: bool = False


@dataclass(slots=True)
class _Measure:
    bar: str
    nominal: Fraction | None
    """Length of a full bar; None where no metre is printed."""
    rows: list[_Timed] = field(default_factory=list)


def exact_durations(parts: Sequence[Element], warnings: Warnings) -> int:
    """Rewrite every duration of `parts` (in place) in one tick, and give the ticks to a quarter.

    ``divisions`` elements are removed; the caller writes the new value into the first measure.
    """
    collector = _Collector(warnings)
    by_part = [collector.part(part) for part in parts]
    for other in by_part[1:]:  # all parts count in the metre of the first
        for first, measure in zip(by_part[0], other, strict=False):
            measure.nominal = first.nominal
    measures = [measure for rows in by_part for measure in rows]
    ticks = _common_ticks(measures, collector.offsets, warnings)
    for measure in measures:
        timed = [_Steps(row, ticks) for row in measure.rows]
        if measure.nominal is not None:
            nominal = _scaled(measure.nominal, ticks)
            if _trust_print(timed, nominal):
                warnings.add(
                    "durations do not fill the bar; the printed note values do, and are used",
                    measure.bar,
                )
            _shorten_rests(timed, nominal)
        if _write(timed):
            warnings.add("a backup leads before the bar line; taken as the bar line", measure.bar)
    for node, value in collector.offsets:
        node.text = str(round(value * ticks))
    return ticks


class _Collector:
    """Reads what the file says of time, measure by measure, remembering what comes again."""

    def __init__(self, warnings: Warnings) -> None:
        self.warnings = warnings
        self.offsets: list[tuple[Element, Fraction]] = []
        self._known: dict[_Key, tuple[Fraction | None, Fraction, Fraction]] = {}
        self._divisions = Fraction(1)
        self._time = COMMON_TIME

    def part(self, part: Element) -> list[_Measure]:
        self._divisions, self._time = Fraction(1), COMMON_TIME
        return [self._measure(measure) for measure in part.iterchildren("measure")]

    def _measure(self, element: Element) -> _Measure:
        measure = _Measure(element.get("number", ""), self._nominal())
        for child in list(element):
            tag = child.tag
            if tag == "note":
                self._note(child, measure)
            elif tag in {"backup", "forward"}:
                self._move(child, str(tag), measure)
            elif tag == "attributes":
                self._attributes(child, measure)
            else:
                self._offsets(child)
        return measure

    def _attributes(self, attributes: Element, measure: _Measure) -> None:
        for node in attributes.findall("divisions"):
            value = number(node.text)
            if value is None or not 0 < value <= MAX_DIVISIONS:
                self.warnings.add(
                    "the divisions are not a number that can be used; the last ones kept",
                    measure.bar,
                )
            else:
                self._divisions = value
            attributes.remove(node)
        for node in attributes.findall("time")[:1]:
            self._time = read_time(node, self._time) or self._time
            if not measure.rows:
                measure.nominal = self._nominal()

    def _nominal(self) -> Fraction | None:
        return self._time.length if self._time.printed else None

    def _note(self, note: Element, measure: _Measure) -> None:
        kids = {child.tag: child for child in note}
        node = kids.get("duration")
        if "grace" in kids:
            for extra in note.findall("duration"):
                note.remove(extra)
            return
        kind = _text(kids.get("type"))
        dots = len(note.findall("dot")) if "dot" in kids else 0
        modification = kids.get("time-modification")
        length, value, printed = self._value(_text(node), kind, dots, modification)
        chord = "chord" in kids
        head = _last_note(measure) if chord else None
        if chord and head is None:
            note.remove(kids["chord"])
            chord = False
        if length is None and head is None:
            self.warnings.add(
                "a duration is missing or not believable; taken from the printed value", measure.bar
            )
        if value <= 0:
            if head is not None:
                length, value = head.length, head.value
            else:
                _make_grace(note, measure.bar, self.warnings)
                return
        rest = "rest" in kids
        measure.rows.append(
            _Timed(note, node, "note", value if length is None else length, value, printed, chord,
                   rest)
        )  # fmt: skip

    def _value(
        self, text: str, kind: str, dots: int, modification: Element | None
    ) -> tuple[Fraction | None, Fraction, Fraction]:
        """(length as the file counts or None, exact value, printed value or 0) of a note."""
        actual = normal = None
        if modification is not None:
            actual = modification.findtext("actual-notes")
            normal = modification.findtext("normal-notes")
        key = (text, kind, dots, actual, normal, self._divisions)
        known = self._known.get(key)
        if known is None:
            length = self._length(text)
            printed = plain_value(kind, dots)
            shape = tuplet_of(modification)
            if shape is not None:
                printed = printed * shape.normal / shape.actual
            value = _repair(length, printed, self._divisions, shape is not None)
            value = printed if value == printed else value
            known = self._known[key] = (length, value, printed)
        return known

    def _length(self, text: str) -> Fraction | None:
        """The duration that the file gives, in quarters; None where it gives none to be believed."""
        value = number(text)
        if value is not None and 0 <= value <= MAX_QUARTERS * self._divisions:
            return value / self._divisions
        return None

    def _move(self, element: Element, kind: str, measure: _Measure) -> None:
        node = element.find("duration")
        length = self._length(_text(node))
        if length is None:
            self.warnings.add(
                f"a {kind} is missing its duration or has none to be believed; not used",
                measure.bar,
            )
        measure.rows.append(
            _Timed(element, node, kind, length or Fraction(0), Fraction(0), Fraction(0))
        )

    def _offsets(self, element: Element) -> None:
        """Offsets and figured-bass durations count in the same ticks."""
        for node in element.iter("offset", "duration"):
            value = number(node.text)
            if value is None or abs(value) > MAX_QUARTERS * self._divisions:
                value = Fraction(0)
            self.offsets.append((node, value / self._divisions))


def _text(node: Element | None) -> str:
    return "" if node is None else node.text or ""


def _last_note(measure: _Measure) -> _Timed | None:
    """The note that a ``chord`` hangs on."""
    if measure.rows and measure.rows[-1].kind == "note":
        return measure.rows[-1]
    return None


def _repair(
    length: Fraction | None, printed: Fraction, divisions: Fraction, in_tuplet: bool
) -> Fraction:
    """The exact duration of a note: as written, or as printed where the ticks were too coarse."""
    if length is None:
        return printed
    if not printed or length == 0:
        return length
    if not in_tuplet and length.denominator & (length.denominator - 1) == 0:
        return length
    off = abs(printed - length) * divisions
    if 0 < off < 1 and (printed * divisions).denominator != 1:
        return printed
    return length


def _make_grace(note: Element, bar: str, warnings: Warnings) -> None:
    """A note without any length is one that is squeezed in; a rest without length is nothing."""
    parent = note.getparent()
    assert parent is not None
    if note.find("rest") is not None:
        parent.remove(note)
        return
    for node in note.findall("duration"):
        note.remove(node)
    note.insert(0, etree.Element("grace"))
    warnings.add("a note without a duration is read as a grace note", bar)


@dataclass(slots=True, init=False)
class _Steps:
    """A timed element with its lengths in ticks."""

    row: _Timed
    length: int
    value: int
    printed: int

    def __init__(self, row: _Timed, ticks: int) -> None:
        self.row = row
        self.length = _scaled(row.length, ticks)
        self.value = _scaled(row.value, ticks) or int(row.value > 0)
        self.printed = self.value if row.printed is row.value else _scaled(row.printed, ticks)


def _trust_print(steps: Sequence[_Steps], nominal: int) -> bool:
    """Take the printed values where they fill the bar exactly and the durations of the file do not."""
    notes = [step for step in steps if step.row.kind == "note"]
    if all(step.value == step.printed or step.row.rest for step in notes):
        return False
    if not all(step.printed or step.row.rest for step in notes):
        return False
    if _Walk(steps, [step.value for step in steps]).furthest == nominal:
        return False
    printed = [step.printed or step.value for step in steps]
    if _Walk(steps, printed).furthest != nominal:
        return False
    for step, value in zip(steps, printed, strict=True):
        step.value = value
    return True


def _shorten_rests(steps: Sequence[_Steps], nominal: int) -> None:
    """Rests never make a bar longer than its notes or its metre: a whole rest stands for the bar."""
    walk = _Walk(steps, [step.value for step in steps])
    if walk.furthest <= nominal:
        return
    sounding = [end for step, end in zip(steps, walk.ends, strict=True)
                if step.row.kind == "note" and not step.row.rest]  # fmt: skip
    if max(sounding, default=0) > nominal:
        return  # a bar that its notes make longer: nothing says where the rests should end
    for step, end in zip(steps, walk.ends, strict=True):
        if step.row.rest and end > nominal:
            step.value = max(0, step.value - (end - nominal))


class _Walk:
    """Positions in a measure, in ticks, as its elements lead through it.

    The file counts with its own lengths; what it calls the same place stays the same place after
    the durations were made exact.
    """

    def __init__(self, steps: Sequence[_Steps], values: Sequence[int]) -> None:
        self.before_bar_line = False
        self.starts: list[int] = []
        self.ends: list[int] = []
        self.furthest = 0
        written = exact = chord_start = 0
        place = {0: 0}
        for step, value in zip(steps, values, strict=True):
            start, end = exact, exact
            kind = step.row.kind
            if kind == "note":
                start = chord_start if step.row.chord else exact
                end = start + value
                if not step.row.chord:
                    chord_start = exact
                    written += step.length
                    exact = end
            elif kind == "forward":
                written += step.length
                exact = end = max(place.get(written, exact + step.length), exact)
            else:
                written -= step.length
                self.before_bar_line |= written < 0
                written = max(written, 0)
                exact = start = min(max(place.get(written, written), 0), exact)
            place.setdefault(written, exact)
            self.starts.append(start)
            self.ends.append(end)
            self.furthest = max(self.furthest, exact)


def _common_ticks(
    measures: Sequence[_Measure], offsets: Sequence[tuple[Element, Fraction]], warnings: Warnings
) -> int:
    """Ticks to a quarter by which all is whole, or the fallback where there are none within reason."""
    found = {id(v): v for m in measures for row in m.rows
             for v in (row.value, row.length, row.printed)}  # fmt: skip
    values = set(found.values())
    values |= {m.nominal for m in measures if m.nominal is not None}
    values |= {value for _, value in offsets}
    ticks = 1
    for denominator in {value.denominator for value in values}:
        ticks = lcm(ticks, denominator)
        if ticks > MAX_DIVISIONS:
            warnings.add("some durations have no common measure and were rounded to a fine grid")
            return FALLBACK_DIVISIONS
    return ticks


def _scaled(value: Fraction, ticks: int) -> int:
    """`value` in whole ticks, the nearest where it is none."""
    whole, rest = divmod(value.numerator * ticks, value.denominator)
    return whole + (2 * rest >= value.denominator)


def _write(steps: Sequence[_Steps]) -> bool:
    """Write the durations to the tree; whether a backup led before the bar line."""
    walk = _Walk(steps, [step.value for step in steps])
    for step, start, end in zip(steps, walk.starts, walk.ends, strict=True):
        element, node = step.row.element, step.row.node
        if step.row.kind == "note" and start == end:  # a rest that was shortened to nothing
            parent = element.getparent()
            assert parent is not None
            parent.remove(element)
            continue
        if node is None:
            node = etree.Element("duration")
            element.insert(_duration_place(element), node)
        node.text = str(end - start)
    return walk.before_bar_line


def _duration_place(element: Element) -> int:
    """Index at which MusicXML wants ``duration``: after the pitch, rest or chord of a note."""
    return sum(1 for child in element if child.tag in _BEFORE_DURATION)
