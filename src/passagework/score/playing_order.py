"""Unfolds repeats, endings and jumps into the order in which the bars are played."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from passagework.score.piece import Bar

MOST_PASSES = 20_000
"""Bars in an unfolded piece; a loop of jumps that never ends is cut here."""


@dataclass(frozen=True, slots=True)
class Jumps:
    """Places of the signs, by bar index (a sign at the bar's start or its end, as it is used)."""

    segno: int | None = None
    coda: int | None = None
    to_coda: int | None = None
    fine: int | None = None
    da_capo: int | None = None
    dal_segno: int | None = None


def playing_order(bars: Sequence[Bar], jumps: Jumps) -> tuple[int, ...]:
    """Indices of `bars` as played.

    After a da capo or dal segno repeats are not taken again and the last ending is played, as is
    usual where nothing else is written. Endings whose numbers never come up are played in passing.
    """
    order: list[int] = []
    start = 0  # where the next backward repeat leads
    passes: dict[int, int] = {}  # times a backward repeat has been taken
    round_ = 1
    jumped = False
    index = 0
    last_number = _last_numbers(bars)
    while index < len(bars) and len(order) < MOST_PASSES:
        bar = bars[index]
        if bar.repeat_start and index != start:
            start, round_ = index, 1
        wanted = last_number.get(index, 1) if jumped else round_
        if bar.endings and wanted not in bar.endings and _has_later_ending(bars, index, wanted):
            index = _after_ending(bars, index)
            continue
        order.append(index)
        if jumped and jumps.to_coda == index and jumps.coda is not None and jumps.coda > index:
            index = jumps.coda
            continue
        if jumped and jumps.fine == index:
            break
        if bar.repeat_end and not jumped:
            taken = passes.get(index, 1)
            if taken < _times(bars, index):
                passes[index] = taken + 1
                round_ += 1
                index = start
                continue
            if not _more_endings(bars, index):
                start, round_ = index + 1, 1
        if not jumped and jumps.da_capo == index:
            jumped, index, start = True, 0, 0
            continue
        if not jumped and jumps.dal_segno == index and jumps.segno is not None:
            jumped, index = True, jumps.segno
            continue
        index += 1
    return tuple(order)


def _times(bars: Sequence[Bar], index: int) -> int:
    """How often the bars up to this backward repeat sound: as marked, or once for each ending number."""
    bar = bars[index]
    if bar.endings:
        if len(bar.endings) == 1 and bar.endings[0] > 1 and not _more_endings(bars, index):
            return 1  # a sign after the last ending closes the group, it asks for no further round
        return max(len(bar.endings) + 1, bar.repeat_end if len(bar.endings) == 1 else 0)
    return bar.repeat_end


def _has_later_ending(bars: Sequence[Bar], index: int, wanted: int) -> bool:
    """Whether one of the endings that follow this one carries the number `wanted`."""
    place = _after_ending(bars, index)
    while place < len(bars) and bars[place].endings:
        if wanted in bars[place].endings:
            return True
        place = _after_ending(bars, place)
    return False


def _after_ending(bars: Sequence[Bar], index: int) -> int:
    numbers = bars[index].endings
    while index < len(bars) and bars[index].endings == numbers:
        index += 1
    return index


def _more_endings(bars: Sequence[Bar], index: int) -> bool:
    return bool(bars[index].endings) and index + 1 < len(bars) and bool(bars[index + 1].endings)


def _last_numbers(bars: Sequence[Bar]) -> Mapping[int, int]:
    """For each bar of a group of endings the highest number in the group."""
    result: dict[int, int] = {}
    group: list[int] = []
    for bar in [*bars, None]:
        if bar is not None and bar.endings:
            group.append(bar.index)
        elif group:
            highest = max(n for i in group for n in bars[i].endings)
            result.update(dict.fromkeys(group, highest))
            group = []
    return result
