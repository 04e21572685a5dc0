"""Pauses in the beat: time that stands still before an attack and then goes on as before.

A pause is an interval between two attacks that is longer than the tempo on *both* sides of it accounts for: a
ritardando has slowed before it, a new slower tempo goes on after it, and neither leaves such a rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median

from passagework.listening.beat_groups import Group

WINDOW_BEATS = 3.0
"""Beats on each side that show the tempo there."""

NEXT_BEATS = 1.0
"""Beats next to the interval that show a tempo on its way: a ritardando before it, a broadening after it."""

FEWEST_INTERVALS, MOST_INTERVALS = 3, 40
"""Intervals on each side that are looked at, at least and at most."""

FLAT_SECONDS, FLAT_BEATS = 0.2, 0.3
"""An excess below either of these is no step: the beat bends that much by itself, and a figure out of proportion is
no pause."""


@dataclass(frozen=True, slots=True)
class Step:
    """Time that stands still before an attack."""

    index: int
    """Index of the group that comes late."""
    seconds: float
    """How much later than the tempo on either side accounts for."""
    beats: float
    """The same in beats of the slower side."""
    before: float
    """Seconds a quarter before it, and after it."""
    after: float


def find_steps(groups: Sequence[Group], beats: Sequence[float]) -> tuple[Step, ...]:
    """The pauses of a pass, in order; `beats` gives for every group the length of its beat in quarters."""
    steps = (s for s in wait_times(groups, beats) if s.seconds >= FLAT_SECONDS)
    return tuple(s for s in steps if s.beats >= FLAT_BEATS)


def wait_times(groups: Sequence[Group], beats: Sequence[float]) -> tuple[Step, ...]:
    """For every interval how much longer it is than the tempo on either side accounts for (shorter: negative)."""
    lengths = [b.position - a.position for a, b in pairwise(groups)]
    times = [b.seconds - a.seconds for a, b in pairwise(groups)]
    paces = [t / q for t, q in zip(times, lengths, strict=True)]
    weights = [
        q * min(a.weight, b.weight) for q, (a, b) in zip(lengths, pairwise(groups), strict=True)
    ]
    found: list[Step] = []
    for i, (one, other) in enumerate(pairwise(groups)):
        sides = [_pace(lengths, paces, weights, i, way, beats[i]) for way in (-1, 1)]
        known = [p for p in sides if p is not None]
        if not known:
            continue
        slower = max(known)
        # A roll or a grace note fills time by itself: only what lies between the strokes is waiting.
        time = (
            min(times[i], other.first - one.last)
            if min(one.weight, other.weight) < 0.5
            else times[i]
        )
        excess = time - slower * lengths[i]
        before, after = (p if p is not None else slower for p in sides)
        found.append(Step(i + 1, excess, excess / (slower * beats[i]), before, after))
    return tuple(found)


def _pace(
    lengths: Sequence[float],
    paces: Sequence[float],
    weights: Sequence[float],
    at: int,
    way: int,
    beat: float,
) -> float | None:
    """Seconds a quarter on one side of an interval: the slower of the tempo there and that of the nearest beat."""
    row: list[tuple[float, float]] = []
    near = 0
    reach = 0.0
    k = at + way
    while 0 <= k < len(paces) and len(row) < MOST_INTERVALS:
        if reach >= WINDOW_BEATS * beat and len(row) >= FEWEST_INTERVALS:
            break
        row.append((paces[k], weights[k]))
        reach += lengths[k]
        if reach < NEXT_BEATS * beat:
            near = len(row)
        k += way
    if not row:
        return None
    nearest = row[: max(near, FEWEST_INTERVALS)]
    return max(weighted_median(row), weighted_median(nearest))


def weighted_median(row: Sequence[tuple[float, float]]) -> float:
    """The value at which half of the weight lies below; `row` holds values with weights above 0."""
    if len(row) < FEWEST_INTERVALS:
        return median(v for v, _ in row)
    ordered = sorted(row)
    half = sum(w for _, w in ordered) / 2
    reached = 0.0
    for value, weight in ordered:
        reached += weight
        if reached >= half:
            return value
    return ordered[-1][0]
