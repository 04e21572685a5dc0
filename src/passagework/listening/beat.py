"""The student's own beat: where every position of the score stood in time, by the playing itself.

Conventions
-----------
* The beat of a pass is a curve from positions (quarters, as written) to seconds: smooth like a tempo that wanders
  (`passagework.listening.beat_fit`), with a step wherever the playing paused (`passagework.listening.beat_steps`).
* A step stands just before the attack that came late, so that what follows a pause is not late against the beat.
* *Lateness* is a stroke's onset less the beat's time at its position: above 0 behind, below 0 ahead.
* *Pace* is seconds a quarter without the pauses; *tempo* quarters a minute.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from passagework.listening.beat_fit import fit_curve
from passagework.listening.beat_groups import FEWEST, Group, Stroke, forward, onset_groups
from passagework.listening.beat_steps import Step, find_steps, wait_times, weighted_median
from passagework.listening.take import PlayedNote
from passagework.score.piece import Piece, Side, sort_key

PARTS = 2
"""Knots of the curve in a beat: tempo may change from one half beat to the next."""

FAR_BEATS, FAR_SECONDS = 0.5, 0.3
"""A stroke out of order that is further than both from the beat is not the note it is taken for."""


@dataclass(frozen=True)
class OwnBeat:
    """The beat of one pass."""

    piece: Piece
    groups: tuple[Group, ...]
    """What carries the beat, in order; at least `FEWEST`."""
    struck: tuple[Group, ...]
    """Everything that was struck near its place, in order of position: some of it in another order in time."""
    steps: tuple[Step, ...]
    """The pauses, in order."""
    start: float
    """Position of the first knot, and quarters from each knot to the next."""
    grid: float
    curve: tuple[float, ...]
    """Seconds at the knots, the pauses taken out."""

    @cached_property
    def _paused(self) -> tuple[list[float], list[float]]:
        """Positions of the pauses, and the seconds paused up to each."""
        total, sums = 0.0, []
        for step in self.steps:
            total += step.seconds
            sums.append(total)
        return [self.groups[s.index].position for s in self.steps], sums

    def _cell(self, position: float) -> tuple[int, float]:
        place = (position - self.start) / self.grid
        cell = min(max(int(place), 0), len(self.curve) - 2)
        return cell, place - cell

    def flowing(self, position: float) -> float:
        """Seconds at a position (quarters) without the pauses."""
        cell, share = self._cell(position)
        return self.curve[cell] * (1.0 - share) + self.curve[cell + 1] * share

    def seconds(self, position: float) -> float:
        """Seconds at a position (quarters), the pauses up to it included."""
        places, sums = self._paused
        at = bisect_right(places, position) - 1
        return self.flowing(position) + (sums[at] if at >= 0 else 0.0)

    def paused(self, start: float, end: float) -> float:
        """Seconds paused after the attack at `start`, up to and before the attack at `end`."""
        places, _ = self._paused
        row = self.steps[bisect_right(places, start) : bisect_right(places, end)]
        return sum(step.seconds for step in row)

    def pace(self, position: float) -> float:
        """Seconds a quarter at a position."""
        cell, _ = self._cell(position)
        return (self.curve[cell + 1] - self.curve[cell]) / self.grid

    def pace_between(self, start: float, end: float) -> float:
        """Mean seconds a quarter from one position to a later one."""
        return (self.flowing(end) - self.flowing(start)) / (end - start)

    def lateness(self, stroke: Stroke) -> float:
        """Seconds by which a stroke is behind the beat (ahead: negative)."""
        return stroke.played.onset - self.seconds(sort_key(stroke.note.onset))

    def lateness_of(self, side: Side) -> tuple[tuple[Group, float], ...]:
        """For every attack of a hand the seconds by which it is behind the beat."""
        rows = ((g, g.onset_of(side)) for g in self.struck)
        return tuple((g, t - self.seconds(g.position)) for g, t in rows if t is not None)

    @cached_property
    def waits(self) -> tuple[Step, ...]:
        """For every interval between attacks how much longer it is than the tempo around accounts for."""
        return wait_times(self.groups, _beats(self.piece, self.groups))

    @cached_property
    def _positions(self) -> list[float]:
        return [g.position for g in self.groups]

    def between(self, start: float, end: float) -> tuple[Group, ...]:
        """The groups from a position on, before another."""
        row = self._positions
        return self.groups[bisect_left(row, start) : bisect_left(row, end)]

    @cached_property
    def bar_tempos(self) -> dict[int, float]:
        """Quarters a minute of every bar that was played from one end to the other, by its index."""
        first, last = self.groups[0], self.groups[-1]
        result: dict[int, float] = {}
        for bar in self.piece.bars[first.bar : last.bar + 1]:
            start, end = sort_key(bar.onset), sort_key(bar.end)
            if (
                bar.length
                and start >= first.position - self.grid
                and end <= last.position + self.grid
            ):
                pace = self.pace_between(start, end)
                if pace > 0:
                    result[bar.index] = 60.0 / pace
        return result

    @cached_property
    def median_pace(self) -> float:
        """Seconds a quarter of the whole pass: the median over its knots."""
        row = [b - a for a, b in zip(self.curve, self.curve[1:], strict=False)]
        return max(weighted_median([(r, 1.0) for r in row]) / self.grid, 1e-3)

    def lengths_of_beats(self, first_bar: int, last_bar: int) -> tuple[tuple[float, float], ...]:
        """Position and quarters a minute of every beat from one bar to another (indices, both included)."""
        rows: list[tuple[float, float]] = []
        for bar in self.piece.bars[first_bar : last_bar + 1]:
            at, beat, end = sort_key(bar.onset), sort_key(bar.time.beat), sort_key(bar.end)
            while at < end - 1e-9:
                pace = self.pace_between(at, min(at + beat, end))
                rows.append((at, 60.0 / pace if pace > 0 else 0.0))
                at += beat
        return tuple(rows)


def own_beat(piece: Piece, struck: Mapping[str, PlayedNote]) -> OwnBeat | None:
    """The beat of one pass; `struck` gives the stroke of each written note by its id. None where too little was played.

    Linear in the notes of the pass.
    """
    every = onset_groups(piece, struck)
    groups = forward(every)
    if len(groups) < FEWEST:
        return None
    beats = _beats(piece, groups)
    steps = find_steps(groups, beats)
    grid = Counter(beats).most_common(1)[0][0] / PARTS
    start = groups[0].position
    knots = int((groups[-1].position - start) / grid) + 2
    times = _without_pauses(groups, steps)
    places = [(g.position - start) / grid for g in groups]
    pace = (times[-1] - times[0]) / (groups[-1].position - start)
    rough = _rough(places, times, knots, pace * grid)
    curve = fit_curve(places, times, [g.weight for g in groups], knots, rough)
    beat = OwnBeat(piece, groups, every, steps, start, grid, tuple(curve))
    return replace(beat, struck=_near(beat, every))


def _near(beat: OwnBeat, every: Sequence[Group]) -> tuple[Group, ...]:
    """The groups that lie near the beat: the others are hardly the notes that they are taken for."""
    carrying = {g.tick for g in beat.groups}
    longest = max(FAR_BEATS * beat.grid * PARTS * beat.median_pace, FAR_SECONDS)
    return tuple(
        g
        for g in every
        if g.tick in carrying or abs(g.seconds - beat.seconds(g.position)) <= longest
    )


def _beats(piece: Piece, groups: Sequence[Group]) -> list[float]:
    """The length of each group's beat in quarters."""
    known = [sort_key(bar.time.beat) for bar in piece.bars]
    return [known[g.bar] for g in groups]


def _without_pauses(groups: Sequence[Group], steps: Sequence[Step]) -> list[float]:
    times, total, at = [], 0.0, 0
    for index, group in enumerate(groups):
        while at < len(steps) and steps[at].index <= index:
            total += steps[at].seconds
            at += 1
        times.append(group.seconds - total)
    return times


def _rough(places: Sequence[float], times: Sequence[float], knots: int, mean: float) -> list[float]:
    """Rough seconds from each knot to the next: over four knots around it."""
    periods: list[float] = []
    for knot in range(knots):
        low = bisect_left(places, knot - 2)
        high = min(bisect_left(places, knot + 2), len(places) - 1)
        span = places[high] - places[low] if high > low else 0.0
        periods.append((times[high] - times[low]) / span if span > 0 else mean)
    return periods
