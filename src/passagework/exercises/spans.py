"""A passage divided at its beats: for learning it a piece at a time, from either end."""

from __future__ import annotations

from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.piece import Bar, Position

MOST_PIECES = 5
"""Pieces that a passage is divided into: more steps than that are not done."""


def joins(passage: Passage, study: Study) -> tuple[Position, ...]:
    """Positions inside the passage (from its start) at which it divides into two to five pieces.

    At the beats while they are few enough, else at the bar lines with the middles of the bars, else at bar
    lines; always where something is struck. Empty where nothing divides it.
    """
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    struck = sorted({n.onset for n in piece.notes if not n.grace})
    if not struck:
        return ()
    lines = {bar.onset for bar in piece.bars}
    middles = {at for bar in piece.bars for at in beats(bar)[:: _half(bar)]}
    every = {at for bar in piece.bars for at in beats(bar)}
    for grid in (every, lines | middles, lines):
        places = tuple(at for at in struck if at in grid and struck[0] < at < struck[-1])
        if 0 < len(places) < MOST_PIECES:
            return places
    places = tuple(at for at in struck if at in every and struck[0] < at < struck[-1])
    if len(places) >= MOST_PIECES:
        stride = -(-len(places) // (MOST_PIECES - 1))
        return places[stride - 1 :: stride][: MOST_PIECES - 1]
    return ()


def beats(bar: Bar) -> list[Position]:
    """Where the beats of a bar fall (a pickup's from the end)."""
    count = -(-bar.length // bar.time.beat)
    first = bar.onset if bar.length >= bar.time.length else bar.end - count * bar.time.beat
    places = [first + k * bar.time.beat for k in range(int(count))]
    return [at for at in places if at >= bar.onset]


def _half(bar: Bar) -> int:
    """Beats to half a bar; the whole bar where it has no middle beat."""
    count = int(bar.time.length / bar.time.beat)
    return count // 2 if count % 2 == 0 and count > 1 else max(count, 1)


def beat_words(passage: Passage, study: Study, position: Position) -> str:
    """A position (from the passage's start) in words: ``"beat 3 of bar 12"``, ``"the beginning of bar 13"``."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    bar = piece.bar_at(position)
    label = study.context.bar(passage.first_bar + bar.index).label
    whole = bar.length >= bar.time.length
    passed = position - bar.onset if whole else bar.time.length - (bar.end - position)
    if position == bar.onset and whole:
        return f"the beginning of bar {label}"
    count = passed / bar.time.beat + 1
    if count.denominator == 1:
        return f"beat {count} of bar {label}"
    return f"the note after beat {int(count)} of bar {label}"
