"""From positions to seconds: the piece's own tempo, scaled or steady, repeats unfolded or not."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from passagework.analysis.tempo import TempoMap
from passagework.score.piece import Piece, Position
from passagework.sound.performance import Pace


class Speed:
    """Seconds of written positions: a tempo map times `scale`, or a steady `quarters_per_minute`.

    A steady speed is a metronome's: rit., accel. and fermatas are not followed.
    """

    def __init__(self, tempi: TempoMap, scale: float, steady: float | None) -> None:
        self._tempi, self._scale, self._steady = tempi, scale, steady
        self._known: dict[Position, float] = {}

    def seconds(self, position: Position) -> float:
        """Seconds from the start of the piece as written."""
        known = self._known.get(position)
        if known is None:
            if self._steady is not None:
                known = float(position) * 60.0 / self._steady
            else:
                known = self._tempi.seconds(position) / self._scale
            self._known[position] = known
        return known

    def quarters_per_minute(self, position: Position) -> float:
        """The speed at `position`."""
        if self._steady is not None:
            return self._steady
        return self._tempi.quarters_per_minute(position) * self._scale

    @cached_property
    def changes(self) -> list[Position]:
        """Where the speed changes."""
        return [] if self._steady is not None else [s.onset for s in self._tempi.spans]


@dataclass(frozen=True, slots=True)
class Run:
    """Bars played one after the other as written: indices `first` to `last`, both included."""

    first: int
    last: int
    passes: tuple[int, ...]
    """For each of them how often it was played before."""
    onset: Position
    end: Position
    start: float
    """Seconds of `onset` from the start of the performance."""
    quarters: Fraction
    """Quarters played before it."""
    shift: float
    """What turns seconds as written into seconds of the performance."""


def runs(
    piece: Piece, order: Sequence[int], speed: Speed, lead_s: float, lead: Fraction
) -> list[Run]:
    """Runs of the bars in `order`, after a count-in of `lead_s` seconds and `lead` quarters."""
    found: list[Run] = []
    played: dict[int, int] = {}
    start, quarters = lead_s, lead
    at = 0
    while at < len(order):
        stop = at
        while stop + 1 < len(order) and order[stop + 1] == order[stop] + 1:
            stop += 1
        row = order[at : stop + 1]
        passes = tuple(played.get(index, 0) for index in row)
        for index in row:
            played[index] = played.get(index, 0) + 1
        onset, end = piece.bars[row[0]].onset, piece.bars[row[-1]].end
        written = speed.seconds(onset)
        found.append(Run(row[0], row[-1], passes, onset, end, start, quarters, start - written))
        start += speed.seconds(end) - written
        quarters += end - onset
        at = stop + 1
    return found


def paces(found: Sequence[Run], speed: Speed, lead: Fraction) -> tuple[Pace, ...]:
    """Every speed of the performance in order, the count-in at the first one's."""
    first = found[0].onset if found else Fraction(0)
    rows = [Pace(0.0, Fraction(0), speed.quarters_per_minute(first))] if lead or not found else []
    for run in found:
        changes = speed.changes
        inner = changes[bisect_right(changes, run.onset) : bisect_left(changes, run.end)]
        for position in (run.onset, *inner):
            rate = speed.quarters_per_minute(position)
            if rows and rows[-1].quarters_per_minute == rate:
                continue
            rows.append(
                Pace(run.shift + speed.seconds(position), run.quarters + position - run.onset, rate)
            )
    return tuple(rows)
