"""From quarters of a pass to seconds: the marked tempo, the rubato, and pauses and bends that are asked for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from passagework.listening.simulate.plan import Stretch
from passagework.listening.simulate.rubato import ARCH_DEPTH, arches, final_ritardando, wandering
from passagework.score.piece import Note
from passagework.spots.context import Context

Floats = NDArray[np.float64]

NEAR = 1e-6
"""Quarters within which two places of a pass are one."""
EDGE = 0.15
"""Share of a bent stretch over which it comes in and goes out."""


@dataclass(frozen=True)
class Pace:
    """What bends the tempo of a pass beside its rubato, in quarters from its start."""

    pauses: Mapping[float, float] = field(default_factory=dict)
    """Seconds of waiting before what is struck at a place."""
    bends: Sequence[tuple[float, float, float]] = ()
    """(from, to, factor of the tempo)."""


class Places:
    """Quarters from the start of a pass for what is written in its bars."""

    def __init__(self, context: Context, row: Stretch) -> None:
        piece = context.piece
        self.of_bar: dict[int, float] = {}
        self.bound: dict[int, float] = {}
        """For each bar where its unbroken run of written bars ends: no note is held beyond."""
        gone = 0.0
        for index in row.bars:
            self.of_bar[index] = gone
            gone += float(piece.bars[index].length)
        self.end = gone
        if row.stop is not None:
            last = piece.bars[row.bars[-1]]
            self.end = self.of_bar[last.index] + float(row.stop - last.onset)
        bound = self.end
        for k in range(len(row.bars) - 1, -1, -1):
            if k + 1 < len(row.bars) and row.bars[k + 1] != row.bars[k] + 1:
                bound = self.of_bar[row.bars[k + 1]]
            self.bound[row.bars[k]] = bound
        self._starts = {b: float(piece.bars[b].onset) for b in row.bars}

    def at(self, note: Note) -> float:
        """Where `note` begins."""
        return self.of_bar[note.bar] + float(note.onset) - self._starts[note.bar]

    def until(self, note: Note) -> float:
        """Where it is to be released."""
        return min(self.at(note) + float(note.duration), max(self.bound[note.bar], self.at(note)))


class Clock:
    """Seconds of a pass, from `start` on."""

    def __init__(
        self,
        context: Context,
        row: Stretch,
        places: Places,
        pace: Pace,
        *,
        start: float,
        scale: float,
        rubato: float,
        rng: np.random.Generator,
    ) -> None:
        self._grid = _grid(context, row, places, pace)
        middles = (self._grid[:-1] + self._grid[1:]) / 2
        written = _written(context, row, places, middles)
        speed = _marked(context, written) * scale
        if rubato > 0:
            speed *= _breath(context, row, places, middles, written, rubato, rng)
        for low, high, factor in pace.bends:
            speed *= _bend(middles, low, high, factor)
        steps = np.diff(self._grid) * 60.0 / speed
        for place, wait in pace.pauses.items():
            at = int(np.searchsorted(self._grid, place - NEAR))
            if at > 0:
                steps[min(at, len(steps)) - 1] += wait
        self._seconds = start + np.concatenate([[0.0], np.cumsum(steps)])

    def seconds(self, place: float) -> float:
        """Second at which `place` (quarters of the pass) comes."""
        return float(np.interp(place, self._grid, self._seconds))

    def many(self, places: Floats) -> Floats:
        """The same for many places."""
        return np.interp(places, self._grid, self._seconds)

    @property
    def end(self) -> float:
        """Second at which the pass ends."""
        return float(self._seconds[-1])


def _grid(context: Context, row: Stretch, places: Places, pace: Pace) -> Floats:
    """Places where the tempo may change: every onset, every beat, every change that is marked."""
    piece = context.piece
    found = [0.0, places.end, *pace.pauses]
    for index in row.bars:
        bar = piece.bars[index]
        first, beat = places.of_bar[index], float(bar.time.beat)
        found += [first + k * beat for k in range(int(float(bar.length) / beat) + 1)]
        found += [places.at(n) for n in piece.notes_of_bar[index]]
    for span in context.tempo.spans:
        bar = piece.bar_at(span.onset)
        if bar.index in places.of_bar:
            found.append(places.of_bar[bar.index] + float(span.onset - bar.onset))
    grid = np.unique(np.round(np.array(found), 7))
    grid = grid[(grid >= 0.0) & (grid <= places.end + NEAR)]
    return grid if len(grid) > 1 else np.array([0.0, max(places.end, 1.0)])


def _written(context: Context, row: Stretch, places: Places, middles: Floats) -> Floats:
    """Positions of the written piece for places of the pass."""
    starts = np.array([places.of_bar[b] for b in row.bars])
    onsets = np.array([float(context.bar(b).onset) for b in row.bars])
    at = np.clip(np.searchsorted(starts, middles, side="right") - 1, 0, len(starts) - 1)
    result: Floats = onsets[at] + middles - starts[at]
    return result


def _marked(context: Context, written: Floats) -> Floats:
    spans = context.tempo.spans
    onsets = np.array([float(s.onset) for s in spans])
    speeds = np.array([s.quarters_per_minute for s in spans])
    at = np.clip(np.searchsorted(onsets, written, side="right") - 1, 0, len(spans) - 1)
    result: Floats = speeds[at].astype(np.float64)
    return result


def _breath(
    context: Context, row: Stretch, places: Places, middles: Floats, written: Floats, rubato: float,
    rng: np.random.Generator,
) -> Floats:  # fmt: skip
    beat = float(context.bar(row.bars[0]).time.beat)
    beats = int(places.end / beat) + 2
    wander = wandering(beats, rubato, rng)
    factor = arches(written, context.form.phrases, ARCH_DEPTH * rubato)
    factor = factor * np.interp(middles / beat, np.arange(beats), wander)
    last = row.bars[-1] == len(context.piece.bars) - 1 and row.stop is None
    if last and not context.tempo.span_at(context.piece.bars[-1].onset).changing:
        factor = factor * final_ritardando(places.end - middles, beat, min(rubato, 1.0))
    return factor


def _bend(middles: Floats, low: float, high: float, factor: float) -> Floats:
    edge = max(EDGE * (high - low), 1e-9)
    inside = np.clip(np.minimum(middles - low, high - middles) / edge, 0.0, 1.0)
    return 1.0 + (factor - 1.0) * inside
