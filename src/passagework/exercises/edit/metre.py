"""How a metre groups a bar: what is beamed together, where rests are divided; writing time signatures."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from lxml import etree

from passagework.exercises.edit.unfold import Item, Layout, Sheet
from passagework.score.markup import Element
from passagework.score.metre import COMMON_TIME, MOST_BEATS, read_time
from passagework.score.piece import TimeSignature

QUARTER = Fraction(1)

FINEST_BEAT = 32
"""Denominator of the finest time signature that is written for a bar made longer or shorter."""


def times(layout: Layout) -> list[TimeSignature]:
    """The metre of every bar."""
    now = COMMON_TIME
    rows: list[TimeSignature] = []
    for sheet in layout.sheets:
        for item in sheet.items:
            node = item.main.find("time") if item.main.tag == "attributes" else None
            if node is not None:
                now = read_time(node, now) or now
        rows.append(now)
    return rows


def bar_offset(index: int, sheet: Sheet, time: TimeSignature) -> Fraction:
    """Quarters of the bar's metre that have passed before it begins: more than 0 in a pickup."""
    if sheet.length < time.length and (index == 0 or sheet.measure.get("implicit") == "yes"):
        return time.length - sheet.length
    return Fraction(0)


def fine_groups(time: TimeSignature) -> list[Fraction]:
    """Places in a bar at which every beam ends, the end of the bar last."""
    whole = time.length
    if len(time.beats) > 1 or (time.beat_type >= 8 and time.beat < QUARTER):
        return _sums([Fraction(4 * n, time.beat_type) for n in _additive(time)])
    unit = min(time.beat, QUARTER) if time.beat != Fraction(3, 2) else time.beat
    unit = time.beat if time.beat.numerator == 3 else unit
    return [min(unit * (k + 1), whole) for k in range(-(-whole // unit))]


def coarse_groups(time: TimeSignature) -> list[Fraction]:
    """The same for plain quavers, of which two beats or a whole bar of three are beamed together."""
    if len(time.beats) > 1 or time.beat_type >= 8:
        return fine_groups(time)
    if sum(time.beats) == 3 and time.beat_type == 4:
        return [time.length]
    if sum(time.beats) % 2 == 0 or time.beat_type == 2:
        return [Fraction(2) * (k + 1) for k in range(int(time.length / 2))] or [time.length]
    return fine_groups(time)


def _additive(time: TimeSignature) -> Sequence[int]:
    """The groups of an irregular metre: as its numerator gives them, else threes with a two at the end."""
    if len(time.beats) > 1:
        return time.beats
    total = time.beats[0]
    if total <= 4:
        return (total,) if total != 4 else (2, 2)
    twos = {0: 0, 1: 2, 2: 1}[total % 3]
    threes = (total - 2 * twos) // 3
    return (3,) * threes + (2,) * twos if total != 7 else (2, 2, 3)


def _sums(parts: Sequence[Fraction]) -> list[Fraction]:
    rows: list[Fraction] = []
    for part in parts:
        rows.append((rows[-1] if rows else Fraction(0)) + part)
    return rows


def signature_for(length: Fraction, like: TimeSignature) -> TimeSignature | None:
    """A time signature for a bar of `length` quarters, in the beats of `like` or the next finer ones
    that fit; None where none does.
    """
    if length == like.length:
        return like
    kind = like.beat_type
    while kind <= FINEST_BEAT:
        beats = length * kind / 4
        if beats.denominator == 1 and 0 < beats <= MOST_BEATS:
            return TimeSignature((int(beats),), kind)
        kind *= 2
    return None


def time_element(time: TimeSignature) -> Element:
    """The ``time`` element of a metre."""
    node = etree.Element("time")
    if time.symbol and time.printed:
        node.set("symbol", time.symbol)
    etree.SubElement(node, "beats").text = "+".join(map(str, time.beats))
    etree.SubElement(node, "beat-type").text = str(time.beat_type)
    return node


def set_time(sheet: Sheet, time: TimeSignature) -> None:
    """Write a time signature at the start of a bar, in place of one that stands there."""
    for item in sheet.items:
        if item.main.tag == "attributes" and item.at == 0:
            for old in item.main.findall("time"):
                item.main.remove(old)
    head = next((i.main for i in sheet.items if i.main.tag == "attributes" and i.at == 0), None)
    if head is None:
        head = etree.Element("attributes")
        place = sum(1 for i in sheet.items[:2] if i.main.tag == "print" or _left_line(i))
        sheet.items.insert(place, Item("other", Fraction(0), Fraction(0), [head]))
    before = {"footnote", "level", "divisions", "key"}
    head.insert(sum(1 for child in head if child.tag in before), time_element(time))


def _left_line(item: Item) -> bool:
    return item.main.tag == "barline" and item.main.get("location") == "left"
