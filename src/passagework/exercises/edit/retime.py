"""Moving things in time: one rule from old positions to new ones, applied to everything alike.

Because chords, rests, directions and bar lines of all voices follow the same rule, what was struck
together stays together. Values are printed anew where a length changed, and a bar that became longer or
shorter gets the time signature that says so.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from lxml import etree

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import set_time, signature_for, times
from passagework.exercises.edit.printed import write_value
from passagework.exercises.edit.rests import rest_element, rest_values
from passagework.exercises.edit.take_out import untie
from passagework.exercises.edit.unfold import Item, Layout, Sheet, unfold
from passagework.exercises.exercise import DoesNotFitError
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Position, TimeSignature


@dataclass(frozen=True, slots=True)
class Knot:
    """A position whose new place is given; between knots time is stretched evenly."""

    old: Position
    arrive: Position
    """Where what ends there now ends."""
    leave: Position
    """Where what begins there now begins; later than `arrive` where a stop is put in."""


@dataclass(frozen=True)
class Warp:
    """A rule from old positions to new ones: knots in order, no time lost between them.

    Raises `ValueError` where the knots do not rise.
    """

    knots: tuple[Knot, ...]

    def __post_init__(self) -> None:
        now: Knot | None = None
        for knot in self.knots:
            behind = now is not None and (knot.old <= now.old or knot.arrive <= now.leave)
            if behind or knot.leave < knot.arrive:
                raise ValueError("the knots of a change of time must rise")
            now = knot

    def end(self, position: Position) -> Position:
        """New place of what ends at `position`."""
        olds = [knot.old for knot in self.knots]
        return self._place(position, bisect_left(olds, position))

    def start(self, position: Position) -> Position:
        """New place of what begins at `position`."""
        olds = [knot.old for knot in self.knots]
        at = bisect_right(olds, position)
        if at and olds[at - 1] == position:
            return self.knots[at - 1].leave
        return self._place(position, at)

    def _place(self, position: Position, at: int) -> Position:
        """By the knots on either side of `position`; `at` is the index of the one at or after it."""
        after = self.knots[at] if at < len(self.knots) else None
        before = self.knots[at - 1] if at else Knot(Fraction(0), Fraction(0), Fraction(0))
        if after is None:
            return before.leave + position - before.old
        if position == after.old:
            return after.arrive
        if after.old == before.old:
            return before.leave
        share = (position - before.old) / (after.old - before.old)
        return before.leave + share * (after.arrive - before.leave)


def warp_of(pairs: Iterable[tuple[Position, Position]]) -> Warp:
    """The rule without stops that leads each old position to its new one."""
    rows = sorted(pairs)
    if rows and rows[0][0] != 0:
        rows.insert(0, (Fraction(0), Fraction(0)))
    return Warp(tuple(Knot(old, new, new) for old, new in rows if old or new))


def retime(notation: Notation, warp: Warp) -> Notation:
    """Everything moved by `warp` (positions in quarters from the start of `notation`).

    Raises `DoesNotFitError` where a new length, or the length of a bar, cannot be printed.
    """
    layout = unfold(notation)
    metres = times(layout)
    starts = layout.starts()
    for sheet, start, end in zip(layout.sheets, starts, starts[1:], strict=False):
        _move(sheet, warp, start, end, last=end == starts[-1])
    _fill_stops(layout, starts, warp)
    set_times(layout, metres, [b - a for a, b in itertools.pairwise(starts)])
    return finish(layout)


def _move(sheet: Sheet, warp: Warp, start: Position, end: Position, *, last: bool) -> None:
    origin = warp.start(start)
    length = (warp.end(end) if last else warp.start(end)) - origin
    for item in sheet.items:
        begin, close = start + item.at, start + item.end
        if item.timed:
            new = warp.end(close) - warp.start(begin) if item.length else Fraction(0)
            item.changed = item.changed or new != item.length
            item.at, item.length = warp.start(begin) - origin, new
        else:
            item.at = min(warp.start(begin) - origin, length)
    sheet.length = length


def _fill_stops(layout: Layout, starts: list[Position], warp: Warp) -> None:
    """Rests where time was put in, on every staff on which nothing is held through it."""
    for knot in warp.knots:
        gap = knot.leave - knot.arrive
        if not gap:
            continue
        index = max(bisect_left(starts, knot.old) - 1, 0)
        sheet = layout.sheets[index]
        at = knot.arrive - warp.start(starts[index])
        for like in _staves_silent(sheet, at, gap):
            note = rest_element(layout, like.main)
            voice = like.voice
            sheet.items.append(Item("rest", at, gap, [note], voice, changed=True))
            sheet.items.sort(key=lambda item: item.at)


def _staves_silent(sheet: Sheet, at: Fraction, gap: Fraction) -> list[Item]:
    """For each staff on which nothing sounds in the gap, an item of its first voice beside it."""
    held: set[str] = set()
    beside: dict[str, Item] = {}
    for item in sheet.items:
        if not item.timed:
            continue
        staff = item.main.findtext("staff") or "1"
        if item.at < at + gap and item.end > at:
            held.add(staff)
        elif staff not in beside:
            beside[staff] = item
    return [item for staff, item in sorted(beside.items()) if staff not in held]


def set_times(layout: Layout, metres: list[TimeSignature], lengths: list[Fraction]) -> None:
    """Give every bar whose length changed (from `lengths`) the time signature of its new length.

    `metres` are the metres that the bars had. Raises `DoesNotFitError` where there is none.
    """
    now: TimeSignature | None = None
    for sheet, metre, before in zip(layout.sheets, metres, lengths, strict=True):
        want: TimeSignature | None = metre
        if sheet.length != before:
            want = signature_for(sheet.length, metre)
            if want is None:
                raise DoesNotFitError(f"no time signature says a bar of {sheet.length} crotchets")
        assert want is not None
        if want != now:
            set_time(sheet, want)
        now = want


def put_stops(notation: Notation, stops: Mapping[Position, Fraction]) -> Notation:
    """A stop at each position: everything from there on comes later by so many quarters.

    Notes held over the position are held longer; elsewhere rests are written. A stop at a bar line
    becomes a bar of rests of its own, printed without a number.
    """
    layout = unfold(notation)
    starts = layout.starts()
    inner = {at: gap for at, gap in stops.items() if gap and at not in starts}
    lines = {at: gap for at, gap in stops.items() if gap and at in starts[1:-1]}
    work = notation
    if inner:
        shift = Fraction(0)
        knots: list[Knot] = []
        for at, gap in sorted(inner.items()):
            knots.append(Knot(at, at + shift, at + shift + gap))
            shift += gap
        work = retime(work, Warp(tuple(knots)))
    if lines:
        work = _put_bars(work, {starts.index(at): gap for at, gap in lines.items()})
    return work


def _put_bars(notation: Notation, stops: Mapping[int, Fraction]) -> Notation:
    """Bars of rests before the bars of those indices; what was tied over the bar line is struck again."""
    layout = unfold(notation)
    _cut_ties(layout, notation, stops)
    metres = times(layout)
    sheets: list[Sheet] = []
    rows: list[TimeSignature] = []
    for index, (sheet, metre) in enumerate(zip(layout.sheets, metres, strict=True)):
        gap = stops.get(index)
        if gap:
            before = layout.sheets[index - 1]
            stop = _bar_of_rests(layout, before, gap, metres[index - 1])
            want = signature_for(gap, metres[index - 1])
            if want is None:
                raise DoesNotFitError(f"no time signature says a stop of {gap} crotchets")
            sheets.append(stop)
            rows.append(want)
        sheets.append(sheet)
        rows.append(metre)
    layout.sheets = sheets
    now: TimeSignature | None = None
    for sheet, want in zip(sheets, rows, strict=True):
        if want != now:
            set_time(sheet, want)
        now = want
    return finish(layout)


def _cut_ties(layout: Layout, notation: Notation, before: Iterable[int]) -> None:
    """Take the ties off that lead into the bars of those indices."""
    place = {
        i: (index, element)
        for index, sheet in enumerate(layout.sheets)
        for item in sheet.items
        for i, element in zip(item.ids, item.elements, strict=True)
    }
    lines = sorted(before)
    for note in read_piece(notation).notes:
        for one, other in pairwise(note.ids):
            (first, head), (second, tail) = place[one], place[other]
            if any(first < line <= second for line in lines):
                untie(head, "start")
                untie(tail, "stop")
                layout.sheets[second].staves_touched.add(tail.findtext("staff") or "1")


def _bar_of_rests(layout: Layout, like: Sheet, gap: Fraction, metre: TimeSignature) -> Sheet:
    measure = etree.Element("measure", number="", implicit="yes", id=layout.fresh("stop"))
    time = signature_for(gap, metre) or metre
    items: list[Item] = []
    staves: dict[str, Item] = {}
    for item in like.items:
        if item.timed:
            staves.setdefault(item.main.findtext("staff") or "1", item)
    for _, item in sorted(staves.items()):
        for at, length, value in rest_values(Fraction(0), gap, time):
            note = rest_element(layout, item.main)
            rest = note.find("rest")
            assert rest is not None
            if value is None:
                for tag in ("type", "dot", "time-modification"):
                    for node in note.findall(tag):
                        note.remove(node)
                rest.set("measure", "yes")
            else:
                write_value(note, value)
            items.append(Item("rest", at, length, [note], item.voice))
    return Sheet(measure, items, gap)


def hold(notation: Notation, holds: Mapping[Position, Position], length: Fraction) -> Notation:
    """What begins at the positions of `holds` lasts `length` quarters, and all that follows comes later.

    ``holds[position]`` is where it ended until now; what lies beside it stretches with it. Where it lasted
    longer already it stays as it is. Raises `DoesNotFitError` as `retime` does.
    """
    pairs: dict[Position, Position] = {Fraction(0): Fraction(0)}
    shift = Fraction(0)
    for begin, end in sorted(holds.items()):
        pairs[begin] = begin + shift
        shift += max(length - (end - begin), Fraction(0))
        pairs[end] = end + shift
    return retime(notation, warp_of(pairs.items()))
