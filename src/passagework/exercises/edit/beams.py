"""Beams set by the beats of the metre, as an engraver sets them."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import log2

from lxml import etree

from passagework.exercises.edit.metre import bar_offset, coarse_groups, fine_groups
from passagework.exercises.edit.printed import printed_of, put, take_off
from passagework.exercises.edit.unfold import Item, Sheet
from passagework.score.piece import TimeSignature
from passagework.score.values import TYPE_QUARTERS

QUAVER = Fraction(1, 2)


def beam_voice(index: int, sheet: Sheet, row: Sequence[Item], time: TimeSignature) -> None:
    """Set the beams of one voice of a bar anew; `row` holds its items in order."""
    offset = bar_offset(index, sheet, time)
    timed = [item for item in row if item.timed]
    for item in timed:
        for element in item.elements:
            take_off(element, ("beam",))
    _mend_graces([item for item in row if item.kind == "grace"])
    run: list[Item] = []
    for item in timed:
        if run and (item.at != run[-1].end or beams_of(item) == 0):
            _groups(run, offset, time)
            run = []
        if beams_of(item):
            run.append(item)
    _groups(run, offset, time)


def _mend_graces(graces: Sequence[Item]) -> None:
    """Take the beams off grace notes of one place whose beams have lost an end, and beam what is left together."""
    groups: dict[Fraction, list[Item]] = {}
    for item in graces:
        groups.setdefault(item.at, []).append(item)
    for group in groups.values():
        heads = [i for i in group if i.main.find("chord") is None]
        signs = [(b.text or "").strip() for i in heads for b in i.main.findall("beam")]
        if signs.count("begin") == signs.count("end") and not (len(heads) == 1 and signs):
            continue
        for item in group:
            take_off(item.main, ("beam",))
        kinds = [p.kind for i in heads if (p := printed_of(i.main))]
        levels = min((int(log2(1 / TYPE_QUARTERS[k])) for k in kinds), default=0)
        for at, item in enumerate(heads if len(heads) > 1 else []):
            text = "begin" if at == 0 else "end" if at == len(heads) - 1 else "continue"
            for level in range(1, levels + 1):
                _write(item, level, text)


def beams_of(item: Item) -> int:
    """Beams (or flags) of a chord's value: 1 for a quaver; 0 for what is not beamed."""
    if item.kind != "chord":
        return 0
    printed = printed_of(item.main)
    base = TYPE_QUARTERS[printed.kind] if printed else Fraction(1)
    return max(0, int(log2(1 / base))) if base < 1 else 0


def _groups(run: Sequence[Item], offset: Fraction, time: TimeSignature) -> None:
    """Divide a run of beamable notes at the beats and beam each part."""
    for part in _divided(run, [b - offset for b in coarse_groups(time)]):
        if all(beams_of(i) == 1 and not i.main.findall("time-modification") for i in part):
            _beam(part)
        else:
            for small in _divided(part, [b - offset for b in fine_groups(time)]):
                _beam(small)


def _divided(run: Sequence[Item], places: Sequence[Fraction]) -> list[list[Item]]:
    parts: dict[int, list[Item]] = {}
    for item in run:
        parts.setdefault(sum(1 for place in places if place <= item.at), []).append(item)
    return list(parts.values())


def _beam(group: Sequence[Item]) -> None:
    if len(group) < 2:
        return
    levels = [beams_of(item) for item in group]
    for level in range(1, max(levels) + 1):
        at = 0
        while at < len(group):
            if levels[at] < level:
                at += 1
                continue
            end = at
            while end + 1 < len(group) and levels[end + 1] >= level:
                end += 1
            if end == at:
                _write(group[at], level, _hook(group, at))
            for k in range(at, end + 1) if end > at else ():
                _write(group[k], level, "begin" if k == at else "end" if k == end else "continue")
            at = end + 1


def _hook(group: Sequence[Item], at: int) -> str:
    if at == 0:
        return "forward hook"
    if at == len(group) - 1:
        return "backward hook"
    item = group[at]
    return "forward hook" if item.at % (2 * item.length) == 0 else "backward hook"


def _write(item: Item, level: int, text: str) -> None:
    beam = etree.Element("beam", number=str(level))
    beam.text = text
    put(item.main, beam)
