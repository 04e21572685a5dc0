"""A part of some bars: what begins between two positions, in the bars it needs."""

from __future__ import annotations

from bisect import bisect_right

from passagework.exercises.edit.take_out import keep_only
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
    kept = {i for n in piece.notes if start <= n.onset <= end for i in n.ids}
    starts = [bar.onset for bar in piece.bars]
    first = bisect_right(starts, start) - 1
    last = bisect_right(starts, end) - 1
    if last == len(piece.bars):
        last -= 1
    part = cut(notation, max(first, 0), max(last, first, 0))
    return keep_only(part, kept, "rest")
