"""Tempo along the piece: as marked, as the words say, or assumed; and positions in seconds."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from passagework.score.piece import Piece, Position

Source = Literal["marked", "file", "words", "assumed"]
"""``marked``: a printed metronome mark; ``file``: the file's playback tempo; ``words``: a tempo term."""

ASSUMED_BEATS_PER_MINUTE = 84.0
"""Andante to moderato: what is assumed of a piece that says nothing at all."""


@dataclass(frozen=True, slots=True)
class TempoSpan:
    """A tempo from `onset` on."""

    onset: Position
    quarters_per_minute: float
    source: Source
    seconds: float
    """Time of `onset` from the start of the piece, repeats not unfolded."""


@dataclass(frozen=True)
class TempoMap:
    """The tempo at every position, piecewise constant."""

    spans: tuple[TempoSpan, ...]

    def span_at(self, position: Position) -> TempoSpan:
        """The span in force at `position`."""
        at = bisect_right([s.onset for s in self.spans], position) - 1
        return self.spans[max(at, 0)]

    def seconds(self, position: Position) -> float:
        """Seconds from the start of the piece to `position`, repeats not unfolded."""
        span = self.span_at(position)
        return span.seconds + float(position - span.onset) * 60.0 / span.quarters_per_minute

    def quarters_per_minute(self, position: Position) -> float:
        """Tempo at `position`."""
        return self.span_at(position).quarters_per_minute


def tempo_map(piece: Piece) -> TempoMap:
    """Tempo of `piece` from its metronome marks; assumed where there are none."""
    marks = sorted(piece.metronomes, key=lambda m: (m.onset, m.printed))
    rows: list[tuple[Fraction, float, Source]] = [
        (m.onset, m.quarters_per_minute, "marked" if m.printed else "file") for m in marks
    ]
    if not rows or rows[0][0] > 0:
        beat = float(piece.bars[0].time.beat) if piece.bars else 1.0
        first: tuple[Fraction, float, Source] = (
            (Fraction(0), rows[0][1], rows[0][2])
            if rows
            else (Fraction(0), ASSUMED_BEATS_PER_MINUTE * beat, "assumed")
        )
        rows.insert(0, first)
    spans: list[TempoSpan] = []
    seconds = 0.0
    for onset, tempo, source in rows:
        if spans:
            last = spans[-1]
            seconds = last.seconds + float(onset - last.onset) * 60.0 / last.quarters_per_minute
            if onset == last.onset:
                spans.pop()
        spans.append(TempoSpan(onset, tempo, source, seconds))
    return TempoMap(tuple(spans))
