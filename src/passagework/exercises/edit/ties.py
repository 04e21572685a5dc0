"""Taking ties out: the note struck again at each head, or one longer value in place of two."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from passagework.exercises.edit.finish import finish
from passagework.exercises.edit.printed import one_value, printed_of
from passagework.exercises.edit.take_out import untie
from passagework.exercises.edit.unfold import Item, Sheet, unfold
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation

How = Literal["repeat", "lengthen"]


def take_out_ties(
    notation: Notation, ids: Iterable[str] | None = None, how: How = "repeat"
) -> Notation:
    """Without the ties of the notes `ids` (any head of each; all notes if left out).

    ``repeat`` strikes every head. ``lengthen`` makes one value of two tied chords of one voice where they
    stand in one bar, are tied in all their heads, and one value can say it; other ties stay.
    """
    chosen = None if ids is None else frozenset(ids)
    piece = read_piece(notation)
    tied = [n for n in piece.notes if n.tied_ids and (chosen is None or chosen & set(n.ids))]
    layout = unfold(notation)
    if how == "repeat":
        elements = {e.get("id", ""): e for _, item in layout.items() for e in item.elements}
        for note in tied:
            for one, other in zip(note.ids, note.ids[1:], strict=False):
                untie(elements[one], "start")
                untie(elements[other], "stop")
        for sheet, item in layout.items():
            if any(i in n.tied_ids for n in tied for i in item.ids):
                sheet.touch(item)
        return finish(layout)
    follows = {a: b for n in tied for a, b in zip(n.ids, n.ids[1:], strict=False)}
    for sheet in layout.sheets:
        for row in sheet.voices().values():
            _lengthen(sheet, [i for i in row if i.timed], follows)
    return finish(layout)


def _lengthen(sheet: Sheet, row: list[Item], follows: dict[str, str]) -> None:
    at = 0
    while at + 1 < len(row):
        first, second = row[at], row[at + 1]
        joined = first.kind == second.kind == "chord" and first.end == second.at
        joined = joined and [follows.get(i) for i in first.ids] == second.ids
        value = printed_of(first.main)
        if not joined or not one_value(
            first.length + second.length, value.tuplet if value else None
        ):
            at += 1
            continue
        for one, other in zip(first.elements, second.elements, strict=True):
            if not any(t.get("type") == "start" for t in other.findall("tie")):
                untie(one, "start")
        first.length += second.length
        first.changed = True
        sheet.items.remove(second)
        sheet.touch(first)
        row.remove(second)
