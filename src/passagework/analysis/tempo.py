"""Tempo along the piece: as marked, as the words say, or assumed; and positions in seconds.

What counts, in this order: a printed metronome mark, tempo words, the playback tempo of the file (used where it agrees
with the words, since many files carry 120 for want of anything else), an assumption. *Rit.* and *accel.* are
followed beat by beat, *a tempo* returns to the speed before them. Everything not printed as a number has a range.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from passagework.analysis.marks import Mark, read_marks
from passagework.analysis.tempo_rows import Source
from passagework.analysis.tempo_walk import TempoWalk
from passagework.analysis.tempo_words import ASSUMED_BEATS, ASSUMED_BEATS_PER_MINUTE
from passagework.score.piece import Piece, Position, sort_key

__all__ = [
    "ASSUMED_BEATS",
    "ASSUMED_BEATS_PER_MINUTE",
    "Source",
    "TempoMap",
    "TempoSpan",
    "tempo_map",
]


@dataclass(frozen=True, slots=True)
class TempoSpan:
    """A tempo from `onset` on."""

    onset: Position
    quarters_per_minute: float
    source: Source
    seconds: float
    """Time of `onset` from the start of the piece, repeats not unfolded."""
    low: float | None = None
    """Slowest and fastest that the page can mean, in quarters a minute; None where it is not known."""
    high: float | None = None
    id: str = ""
    """The mark that the speed comes from; ``""`` for none."""
    origin: Position | None = None
    """Where that speed was first set, None where it is on its way (rit.) or assumed."""
    changing: int = 0
    """+1 in an accelerando, -1 in a ritardando or at a fermata, 0 at a steady speed."""


@dataclass(frozen=True)
class TempoMap:
    """The tempo at every position, piecewise constant."""

    spans: tuple[TempoSpan, ...]
    warnings: tuple[str, ...] = field(default=(), compare=False)
    """What was not believed, one sentence each."""

    @cached_property
    def _onsets(self) -> list[float]:
        return [sort_key(s.onset) for s in self.spans]

    def span_at(self, position: Position) -> TempoSpan:
        """The span in force at `position`."""
        return self.spans[max(bisect_right(self._onsets, sort_key(position)) - 1, 0)]

    def seconds(self, position: Position) -> float:
        """Seconds from the start of the piece to `position`, repeats not unfolded."""
        span = self.span_at(position)
        return span.seconds + float(position - span.onset) * 60.0 / span.quarters_per_minute

    def quarters_per_minute(self, position: Position) -> float:
        """Tempo at `position`."""
        return self.span_at(position).quarters_per_minute

    def index_before(self, position: Position) -> int:
        """Index of the last span that begins before `position`; -1 for none."""
        return bisect_left(self._onsets, sort_key(position)) - 1

    def steady_at(self, position: Position) -> TempoSpan:
        """The last steady speed at or before `position`: what a rit. or a fermata there departs from."""
        at = max(bisect_right(self._onsets, sort_key(position)) - 1, 0)
        while at > 0 and self.spans[at].changing:
            at -= 1
        return self.spans[at]


def tempo_map(piece: Piece, marks: Sequence[Mark] | None = None) -> TempoMap:
    """Tempo of `piece` from its metronome marks, words and playback data; assumed where there is nothing.

    `marks` are those of `read_marks`, where they are at hand.
    """
    walk = TempoWalk(piece, read_marks(piece) if marks is None else marks)
    spans: list[TempoSpan] = []
    for row in walk.rows():
        seconds = 0.0
        if spans:
            last = spans[-1]
            seconds = last.seconds + float(row.onset - last.onset) * 60.0 / last.quarters_per_minute
        spans.append(
            TempoSpan(
                row.onset, row.speed, row.source, seconds, row.low, row.high, row.id, row.origin, row.changing,
            )
        )  # fmt: skip
    return TempoMap(tuple(spans), tuple(walk.warnings))
