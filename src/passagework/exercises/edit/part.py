"""A part of some bars: what begins between two positions, in the bars it needs."""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.metre import bar_offset, times
from passagework.exercises.edit.rests import rest_items
from passagework.exercises.edit.take_out import keep_only
from passagework.exercises.edit.unfold import Item, Sheet, unfold
from passagework.score.cut import cut
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Position


def between(notation: Notation, start: Position, end: Position) -> Notation:
    """The notes that begin from `start` to `end`, the one at `end` included, and rests around them.

    Positions are in quarters from the start of `notation`. Bars outside are cut off; grace notes go with
    the chords they lean on. A tied note that began before `start` stays out.
    """
    piece = read_piece(notation)
    places = _places(notation)
    kept = {i for n in piece.notes if start <= n.onset <= end for i in n.ids if places[i] <= end}
    starts = [bar.onset for bar in piece.bars]
    first = bisect_right(starts, start) - 1
    last = bisect_right(starts, end) - 1
    if last == len(piece.bars):
        last -= 1
    part = cut(notation, max(first, 0), max(last, first, 0))
    work = keep_only(part, kept, "rest")
    return land(work, end - starts[max(first, 0)]) if end < piece.end else work


def _places(notation: Notation) -> dict[str, Position]:
    """Where every head stands, in quarters from the start."""
    layout = unfold(notation)
    starts = layout.starts()
    return {
        i: start + item.at
        for sheet, start in zip(layout.sheets, starts, strict=False)
        for item in sheet.items
        for i in item.ids
    }


def land(notation: Notation, at: Position) -> Notation:
    """What is struck at `at` (quarters from the start) lasts to the end of its beat, with rests after it.

    It is where the student stops: a short note there would only be followed by small rests.
    """
    layout = unfold(notation)
    starts = layout.starts()
    index = max(bisect_right(starts[:-1], at) - 1, 0)
    sheet, time = layout.sheets[index], times(layout)[index]
    place = at - starts[index]
    offset = bar_offset(index, sheet, time)
    beat = time.beat
    until = min(((place + offset) // beat + 1) * beat - offset, sheet.length)
    struck = [i for i in sheet.items if i.kind == "chord" and i.at == place and i.end < until]
    late = [i for i in sheet.items if i.kind == "rest" and i.end > place]
    if not struck or any(_tied(item) for item in struck):
        return notation
    for item in struck:
        item.length = until - item.at
        item.changed = True
    for rest in late:
        sheet.touch(rest)
    sheet.items = [i for i in sheet.items if not any(i is rest for rest in late)]
    for like in _first_of_each_staff([*struck, *late]):
        after = max(until, _end_on_staff(sheet, like))
        if after < sheet.length:
            sheet.items += rest_items(layout, like.main, (after, sheet.length - after), time)
    return finish(layout)


def _tied(item: Item) -> bool:
    return any(tie.get("type") == "start" for e in item.elements for tie in e.findall("tie"))


def _first_of_each_staff(items: list[Item]) -> list[Item]:
    rows: dict[str, Item] = {}
    for item in items:
        rows.setdefault(item.main.findtext("staff") or "1", item)
    return list(rows.values())


def _end_on_staff(sheet: Sheet, like: Item) -> Position:
    """Where the last chord on the staff of `like` ends."""
    staff = like.main.findtext("staff") or "1"
    return max(
        (
            i.end
            for i in sheet.items
            if i.kind == "chord" and (i.main.findtext("staff") or "1") == staff
        ),
        default=Fraction(0),
    )
