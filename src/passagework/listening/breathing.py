"""Where time may be taken: places at which a pause belongs to the music.

Three grades
------------
* *free*: a fermata just before, a breath mark or caesura, a double bar, a repeat, a new tempo, a ritardando or
  accelerando under way, silence in all voices, the last bars. How long a player waits there is theirs to decide.
* *section*: the start of a section that nothing on the page sets off.
* *phrase*: the start of a phrase of the tune. A breath is taken, and a long stop is still a stop.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from typing import Literal

from passagework.score.piece import Note, Piece
from passagework.spots.context import Context

Grade = Literal["", "phrase", "section", "free"]

WAITING = frozenset({"fermata", "breath-mark", "caesura"})

NEAR_BEATS = 1
"""A phrase or a section begins within so many beats of where the analysis puts it: an upbeat may belong to either."""


LAST_BARS = 2
"""Bars at the end in which everybody slows down."""


class Breathing:
    """What grade of pause may stand before each position of a piece."""

    def __init__(self, context: Context) -> None:
        """Gather the places once; linear in the notes."""
        piece = context.piece
        self._ticks = piece.ticks
        self._free = set(_signs(piece)) | set(_silences(piece))
        self._near_free = sorted(_new_starts(context))
        self._near_section = sorted(
            piece.ticks(piece.bars[s.first_bar].onset) for s in context.form.sections
        )
        self._near_phrase = sorted(piece.ticks(p.onset) for p in context.form.phrases)
        self._changing = _changing(context)
        self._last = piece.ticks(piece.bars[-min(LAST_BARS, len(piece.bars))].onset)
        self._beats = [piece.ticks(b.time.beat) for b in piece.bars]

    def grade(self, before: int, tick: int, bar: int) -> Grade:
        """The grade of a pause between attacks at the ticks `before` and `tick`, the second in the bar of that index."""
        if tick >= self._last or tick in self._free:
            return "free"
        at = bisect_left(self._changing, (tick, 0)) - 1
        if at >= 0 and self._changing[at][1] > before:
            return "free"
        near = self._beats[bar] * NEAR_BEATS
        if _any_within(self._near_free, tick - near, tick + near):
            return "free"
        if _any_within(self._near_section, tick - near, tick + near):
            return "section"
        return "phrase" if _any_within(self._near_phrase, tick - near, tick + near) else ""


def _any_within(row: list[int], low: int, high: int) -> bool:
    at = bisect_left(row, low)
    return at < len(row) and row[at] <= high


def _signs(piece: Piece) -> Iterable[int]:
    """Ticks of what follows a fermata, a breath mark or a caesura, and of the fermata itself."""
    onsets = sorted({piece.ticks(n.onset) for n in piece.notes if not n.grace})
    for note in piece.notes:
        if note.articulations & WAITING:
            start, end = piece.ticks(note.onset), piece.ticks(note.end)
            yield start
            yield from onsets[(at := bisect_right(onsets, start)) : at + 1]
            yield from onsets[(at := bisect_left(onsets, end)) : at + 1]


def _silences(piece: Piece) -> Iterable[int]:
    """Ticks of the attacks before which nothing is held."""
    sounding = 0
    for note in _plain(piece):
        tick = piece.ticks(note.onset)
        if sounding < tick:
            yield tick
        sounding = max(sounding, piece.ticks(note.end))


def _plain(piece: Piece) -> Iterable[Note]:
    return (n for n in piece.notes if not n.grace)


def _new_starts(context: Context) -> Iterable[int]:
    """Ticks after double bars and repeats, and of new tempos."""
    piece = context.piece
    for bar in piece.bars:
        if bar.repeat_start:
            yield piece.ticks(bar.onset)
        if bar.repeat_end or bar.barline not in ("regular", "none", "dashed", ""):
            yield piece.ticks(bar.end)
    for span in context.tempo.spans:
        if not span.changing:
            yield piece.ticks(span.onset)


def _changing(context: Context) -> list[tuple[int, int]]:
    """Start and end ticks of the stretches in which the tempo is marked to change."""
    piece = context.piece
    spans = context.tempo.spans
    rows = []
    for k, span in enumerate(spans):
        if span.changing:
            end = spans[k + 1].onset if k + 1 < len(spans) else piece.end
            rows.append((piece.ticks(span.onset), piece.ticks(end)))
    return rows
