"""Scales and arpeggios: a line that repeats its keys at the octave repeats its fingers there.

A run is a line in one direction whose keys come back an octave away. For the keys of one octave, taken
as a ring, the cheapest fingerings that close on themselves are found exactly (one for every way to
begin and every place for the thumb); then all runs over the same keys, up or down, choose one of them together, by what it costs
in place, with the way in and out of it. The choice is laid on the runs as a preference, not as a rule:
at the ends, or where something else is held, fingers may differ.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from passagework.hands.keyboard import is_black
from passagework.hands.layers import Costs, Layer
from passagework.hands.search import FORBIDDEN, Lattice
from passagework.hands.slices import Slice
from passagework.hands.terms import Table

OCTAVE = 12

RUN_GAP = 0.25
"""Seconds of silence that end a run."""

SAMENESS = 1.36
"""What it costs a note of a run to leave the fingering that its run repeats at every octave."""

MOST_CANDIDATES = 20
"""Closed fingerings that are tried in place, the cheapest first."""

RING_SHARE = 0.67
"""How much the cost of an endless scale counts beside the cost in place: a short scale is fingered
like the long one that it is a part of."""

MARGIN = 4
"""Attacks before and after a run that are looked at when its fingering is chosen."""

THUMB_START = 4.0
"""Cost of a pattern that has no thumb on the white key where a run ends on the thumb's side: manuals
begin there with the thumb, whatever else would be as easy."""

THUMB_OFF_BLACK = 1.5
"""Cost of a pattern for each black key that it gives to the thumb, where there are white ones."""

End = Literal["low", "high", ""]

Pattern = tuple[int, ...]
"""Finger (0 is the thumb) by pitch class of the ring, in ascending order of the pitch classes."""


@dataclass(frozen=True, slots=True)
class Run:
    """Slices `first` to `last` (included) climb or fall through a ring of `period` keys."""

    first: int
    last: int
    period: int
    ring: tuple[int, ...]
    """Its pitch classes, ascending."""

    def end(self, place: int, lattice: Lattice) -> End:
        """Whether a slice of the run is its end on the thumb's side, on the other side, or neither."""
        if place not in (self.first, self.last):
            return ""
        here, there = (
            _key(lattice.layers[place]),
            _key(lattice.layers[self.first + self.last - place]),
        )
        return "low" if here < there else "high"


def settle_runs(lattice: Lattice, slices: Sequence[Slice], costs: Costs) -> None:
    """Lay the preference for octave-repeating fingers on every run of `lattice`, in place."""
    classes: dict[tuple[int, ...], list[Run]] = {}
    for run in find_runs(lattice.layers, slices):
        classes.setdefault(run.ring, []).append(run)
    for ring, runs in classes.items():
        candidates = _candidates(lattice, runs[0], costs)
        if not candidates:
            continue
        chosen = _choose(lattice, runs, candidates)
        for run in runs:
            for i in range(run.first, run.last + 1):
                layer = lattice.layers[i]
                wanted = np.array([chosen[ring.index(_key(layer) % OCTAVE)]])
                lattice.own[i] = lattice.own[i] + _preference(layer, wanted, run.end(i, lattice))[0]


def find_runs(layers: Sequence[Layer], slices: Sequence[Slice]) -> list[Run]:
    """All runs, in order; two runs share at most the note on which the line turns."""
    found: list[Run] = []
    for start, end in _lines(layers, slices):
        keys = [_key(layers[i]) for i in range(start, end + 1)]
        sign = 1 if keys[-1] > keys[0] else -1
        at = 0
        while at < len(keys) - 1:
            period = next(
                (p for p in range(2, len(keys) - at) if keys[at + p] == keys[at] + sign * OCTAVE),
                0,
            )
            if not period:
                at += 1
                continue
            last = at + period
            while (
                last + 1 < len(keys) and keys[last + 1] == keys[last + 1 - period] + sign * OCTAVE
            ):
                last += 1
            ring = tuple(sorted({k % OCTAVE for k in keys[at : last + 1]}))
            found.append(Run(start + at, start + last, period, ring))
            at = last
    return found


def _key(layer: Layer) -> int:
    return layer.base + layer.keys[0]


def _lines(layers: Sequence[Layer], slices: Sequence[Slice]) -> Iterator[tuple[int, int]]:
    """Stretches of single keys in one direction."""
    start, way = 0, 0
    for i in range(1, len(layers) + 1):
        direction = 0
        if (
            i < len(layers)
            and len(layers[i].keys) == len(layers[i - 1].keys) == 1
            and slices[i].gap <= RUN_GAP
        ):
            step = _key(layers[i]) - _key(layers[i - 1])
            direction = (step > 0) - (step < 0)
        if direction == way != 0:
            continue
        if way:
            yield start, i - 1
        start, way = i - 1, direction


def _candidates(lattice: Lattice, run: Run, costs: Costs) -> dict[Pattern, float]:
    """The cheapest closed fingerings of the ring, with what they cost an octave."""
    period, first = run.period, run.first
    layers = lattice.layers
    sign = 1 if _key(layers[first + period]) > _key(layers[first]) else -1
    ring = list(layers[first : first + period])
    ring += [replace(layers[first + k % period], base=ring[k % period].base + sign * OCTAVE)
             for k in range(period, period + 2)]  # fmt: skip
    at = layers[first + 1].moment
    plain = [_plain(layer) for layer in ring]
    if any(len(p) != len(plain[0]) for p in plain):
        return {}
    own = [(costs.weighted(at) @ layer.terms)[p] for layer, p in zip(ring, plain, strict=True)]
    steps, skips = [], []
    for k in range(period):
        step = costs.step(ring[k], replace(ring[k + 1], moment=at), ())
        steps.append(step[np.ix_(plain[k], plain[k + 1])])
        skip = costs.skip(ring[k], ring[k + 2], at)
        skips.append(skip[np.ix_(plain[k], plain[k + 2])])
    fingers = [int(f) for f in ring[0].arrive[plain[0], 0]]
    order = [_key(layer) % OCTAVE for layer in ring[:period]]
    closed, prices = _closed(own, steps, skips)
    column = [order.index(pc) for pc in run.ring]
    patterns = np.array(fingers)[closed[:, column]]
    found: dict[Pattern, float] = {}
    for pattern, price in zip(map(tuple, patterns.tolist()), prices.tolist(), strict=True):
        found[pattern] = min(price, found.get(pattern, price))
    if any(not is_black(pc) for pc in run.ring):
        for pattern in found:
            thumbs = sum(f == 0 and is_black(pc) for pc, f in zip(run.ring, pattern, strict=True))
            found[pattern] += THUMB_OFF_BLACK * thumbs
    best = sorted(found, key=lambda p: (found[p], p))[:MOST_CANDIDATES]
    return {pattern: found[pattern] for pattern in best}


def _plain(layer: Layer) -> NDArray[np.intp]:
    """Shapes without a substitution."""
    return np.flatnonzero((layer.arrive == layer.leave).all(axis=1))


def _closed(
    own: Sequence[NDArray[np.float64]], steps: Sequence[Table], skips: Sequence[Table]
) -> tuple[NDArray[np.intp], NDArray[np.float64]]:
    """Closed fingerings (a row of states each) and their costs: for every pair of states to begin with, and every other
    key of the ring on which the thumb may be asked for, the cheapest that comes back to its start.
    """
    period, count = len(steps), len(own[0])
    first, second, thumb = (
        axis.ravel()
        for axis in np.meshgrid(range(count), range(count), range(1, period), indexing="ij")
    )
    starts = np.arange(len(first))
    value = np.full((len(starts), count, count), FORBIDDEN)
    value[starts, first, second] = 0.0
    back: list[NDArray[np.intp]] = []
    for k in range(2, period + 2):
        cube = value[:, :, :, None] + skips[k - 2][None, :, None, :]
        back.append(cube.argmin(axis=1))
        value = cube.min(axis=1) + steps[(k - 1) % period] + own[k][None, None, :]
        value[thumb == k, :, 1:] += FORBIDDEN
    pair = (first, second)
    ring = []
    for choice in reversed(back):
        before = choice[starts, pair[0], pair[1]]
        ring.append(before)
        pair = (before, pair[0])
    costs = value[starts, first, second]
    possible = costs < FORBIDDEN
    return np.stack(ring[::-1], axis=1)[possible], costs[possible]


def _choose(lattice: Lattice, runs: Sequence[Run], rings: dict[Pattern, float]) -> Pattern:
    """The closed fingering that costs all `runs` least, ways in and out included."""
    candidates = list(rings)
    totals = np.array([rings[c] for c in candidates]) * RING_SHARE * len(runs)
    seen: dict[object, NDArray[np.float64]] = {}
    for run in runs:
        low_key = min(_key(lattice.layers[run.first]), _key(lattice.layers[run.last])) % OCTAVE
        if not is_black(low_key):
            place = run.ring.index(low_key)
            totals += [THUMB_START * (c[place] != 0) for c in candidates]
        low = max(0, run.first - MARGIN)
        high = min(len(lattice.layers), run.last + 1 + MARGIN)
        known = tuple(
            (layer.base - lattice.layers[low].base, layer.pattern, layer.moment)
            for layer in lattice.layers[low:high]
        )
        if known not in seen:
            seen[known] = _costs_in_place(lattice, run, low, high, candidates)
        totals += seen[known]
    return candidates[int(totals.argmin())]


def _costs_in_place(
    lattice: Lattice, run: Run, low: int, high: int, candidates: Sequence[Pattern]
) -> NDArray[np.float64]:
    """Cost of the best path from `low` to `high` for each candidate laid on the run."""

    wanted = np.array(candidates)

    def own(i: int) -> NDArray[np.float64]:
        layer = lattice.layers[i]
        if not run.first <= i <= run.last:
            return np.tile(lattice.own[i], (len(candidates), 1))
        column = wanted[:, run.ring.index(_key(layer) % OCTAVE)]
        return np.asarray(lattice.own[i] + _preference(layer, column, run.end(i, lattice)))

    value = own(low)[:, :, None] + lattice.steps[low] + own(low + 1)[:, None, :]
    for i in range(low + 2, high):
        cube = value[:, :, :, None] + lattice.skips[i - 2][None, :, None, :]
        value = cube.min(axis=1) + lattice.steps[i - 1] + own(i)[:, None, :]
    return np.asarray(value.min(axis=(1, 2)))


def _preference(layer: Layer, wanted: NDArray[np.intp], end: End) -> NDArray[np.float64]:
    """What it costs every shape of `layer` to be another finger than wanted; a row for each one wanted.

    On the little finger's side the last note is free where the thumb would be wanted; on the thumb's
    side a run that does not begin with the thumb begins with the second finger as well as with its own.
    """
    away = layer.arrive[None, :, 0] != wanted[:, None]
    if end == "high":
        away = away & (wanted[:, None] != 0)
    elif end == "low":
        away = away & ((wanted[:, None] == 0) | (layer.arrive[None, :, 0] != 1))
    return np.asarray(SAMENESS * away)
