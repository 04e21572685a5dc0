"""Which stroke is which note, within a run: key by key, by how near each stroke falls to its time.

The notes of one key come in the order of the page, so for each key the strokes and the written notes are two rows that are
laid along each other with the least sum of distances in time.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import Event, Unit
from passagework.listening.align_runs import Run
from passagework.listening.take import PlayedNote

Expected = tuple[float, float, int, Unit]
"""Second, tolerance in seconds, place in the walk, unit."""
Pair = tuple[int, int, Unit]
"""Stroke, place in the walk, unit."""

LEAST_TOLERANCE_S = 0.25
MOST_TOLERANCE_S = 1.5
SHARE_OF_STEP = 0.6
"""A stroke may be this share of the way to the next event away from its time."""
GRACE_S = 0.09
"""Seconds between grace notes, where there is room for them."""
GRACE_SHARE = 0.7
"""Share of the time before a note that its grace notes may take."""


def expected(run: Run, events: Sequence[Event], times: NDArray[np.float64]) -> list[Expected]:
    """When each unit of the walk is to be struck."""
    steps = np.diff(times)
    rows: list[Expected] = []
    for place, index in enumerate(run.events):
        before = float(steps[place - 1]) if place else 0.5
        after = float(steps[place]) if place < len(steps) else before
        slack = LEAST_TOLERANCE_S + SHARE_OF_STEP * max(before, after)
        units = events[index].units
        graces = max((u.grace for u in units), default=0)
        apart = min(GRACE_S, GRACE_SHARE * max(before, 0.05) / graces) if graces else 0.0
        for unit in units:
            at = float(times[place]) - unit.grace * apart
            if unit.loose:
                ahead = run.quarters[place + 1] - run.quarters[place] if place < len(steps) else 1.0
                at += (unit.quarters - events[index].quarters) * after / max(ahead, 1e-6)
            more = graces * GRACE_S if unit.grace else 0.0
            rows.append((at, min(slack + more, MOST_TOLERANCE_S), place, unit))
    return rows


def pair_up(rows: Sequence[Expected], notes: Sequence[PlayedNote], strokes: range) -> list[Pair]:
    """Pairs of strokes and units, no stroke and no unit twice."""
    struck: dict[int, list[int]] = defaultdict(list)
    for stroke in strokes:
        struck[notes[stroke].pitch].append(stroke)
    written: dict[int, list[Expected]] = defaultdict(list)
    for row in rows:
        if row[3].pitch in struck:
            written[row[3].pitch].append(row)
    pairs: list[Pair] = []
    for pitch, units in written.items():
        units.sort(key=lambda row: row[0])
        pairs += _one_key(units, struck[pitch], notes)
    return pairs


def _one_key(units: list[Expected], strokes: list[int], notes: Sequence[PlayedNote]) -> list[Pair]:
    """Falls apart where nothing is near enough to anything, and lays each part along its strokes."""
    pairs: list[Pair] = []
    start = 0
    group: list[Expected] = []
    low = high = 0
    for row in [*units, None]:
        if row is not None:
            first = start if not group else low
            while first < len(strokes) and notes[strokes[first]].onset < row[0] - row[1]:
                first += 1
            last = first
            while last < len(strokes) and notes[strokes[last]].onset <= row[0] + row[1]:
                last += 1
            if group and first < high:
                group.append(row)
                high = max(high, last)
                continue
        if group:
            pairs += _lay(group, strokes[low:high], notes)
            start = high
        group = []
        if row is not None:
            first = max(first, start)
            if last > first:
                group, low, high = [row], first, last
    return pairs


def _lay(units: list[Expected], strokes: list[int], notes: Sequence[PlayedNote]) -> list[Pair]:
    """The cheapest way to lay `strokes` along `units`, both in order; leaving one out costs its tolerance."""
    if len(units) == 1:
        at, slack, place, unit = units[0]
        best = min(strokes, key=lambda s: abs(notes[s].onset - at))
        return [(best, place, unit)] if abs(notes[best].onset - at) <= slack else []
    rows, columns = len(units), len(strokes)
    cost = [[0.0] * (columns + 1) for _ in range(rows + 1)]
    for i in range(1, rows + 1):
        at, slack, _, _ = units[i - 1]
        above, here = cost[i - 1], cost[i]
        here[0] = above[0] + slack
        for j in range(1, columns + 1):
            far = abs(notes[strokes[j - 1]].onset - at)
            least = min(above[j] + slack, here[j - 1])
            if far <= slack:
                least = min(least, above[j - 1] + far)
            here[j] = least
    pairs: list[Pair] = []
    i, j = rows, columns
    while i and j:
        at, slack, place, unit = units[i - 1]
        if cost[i][j] == cost[i - 1][j] + slack:
            i -= 1
        elif cost[i][j] == cost[i][j - 1]:
            j -= 1
        else:
            pairs.append((strokes[j - 1], place, unit))
            i, j = i - 1, j - 1
    return pairs
