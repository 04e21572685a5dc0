"""The runs of a path: one way forward through the piece each, and its line of time.

A run ends where the path goes back or skips. Its *walk* is the row of events it went through, written order, with an
*abscissa* for each: quarters from the start of the run, so that time can be drawn over it through endings and jumps of the page.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import Event
from passagework.listening.align_path import EXTRA_ONLY, JUMPED, LINKED, Path
from passagework.listening.align_score import States
from passagework.listening.align_take import Clusters

MARGIN = 3
"""Events before the first and after the last of a walk that its outermost strokes may still belong to."""

SAME_PLACE = 4
"""A jump that lands within so many events ahead of where it came from goes on."""


@dataclass(slots=True)
class Run:
    """One way forward."""

    first: int
    """Clusters, from and to (one past)."""
    stop: int
    events: list[int] = field(default_factory=list)
    """The walk, events in order."""
    hands: list[int] = field(default_factory=list)
    """Strand in which each event of the walk was gone through."""
    quarters: list[float] = field(default_factory=list)
    anchors: list[tuple[int, int]] = field(default_factory=list)
    """(cluster, place in the walk) where something written was struck."""
    inner: tuple[int, int] = (0, 0)
    """Places in the walk of the first and last event the path stood at."""


def runs_of(path: Path, states: States, clusters: Clusters, events: list[Event]) -> list[Run]:
    """The runs of `path`, in order of time."""
    runs: list[Run] = []
    at = 0
    length = len(clusters)
    while at < length:
        stop = at + 1
        while stop < length and not _breaks(path, states, stop):
            stop += 1
        runs.append(_walk(path, states, events, at, stop))
        at = stop
    return runs


def _breaks(path: Path, states: States, at: int) -> bool:
    """Whether a new way forward begins with this cluster."""
    if path.move[at] not in {JUMPED, LINKED}:
        return False
    before = states.event[path.state[at - 1]]
    here = states.event[path.state[at]]
    if path.move[at] == LINKED:
        return bool(here <= before)
    return not before < here <= before + SAME_PLACE


def _walk(path: Path, states: States, events: list[Event], first: int, stop: int) -> Run:
    run = Run(first, stop)
    start = int(states.event[path.state[first]])
    hand = int(states.strand[path.state[first]])
    for index in range(max(0, start - MARGIN), start + 1):
        _add(run, events, index, hand)
    low = len(run.events) - 1
    for at in range(first, stop):
        here = int(states.event[path.state[at]])
        hand = int(states.strand[path.state[at]])
        last = run.events[-1]
        if here != last:
            if path.move[at] == LINKED:
                _link(run, here, hand)
            else:
                for index in range(last + 1, here + 1):
                    _add(run, events, index, hand)
        if path.move[at] != EXTRA_ONLY:
            run.anchors.append((at, len(run.events) - 1))
    high = len(run.events) - 1
    for index in range(run.events[-1] + 1, min(run.events[-1] + MARGIN + 1, len(events))):
        _add(run, events, index, hand)
    run.inner = (low, high)
    return run


def _add(run: Run, events: list[Event], index: int, hand: int) -> None:
    step = 0.0
    if run.events:
        step = events[index].quarters - events[run.events[-1]].quarters
    run.events.append(index)
    run.hands.append(hand)
    run.quarters.append((run.quarters[-1] if run.quarters else 0.0) + step)


def _link(run: Run, index: int, hand: int) -> None:
    """On by an ending or a jump of the page: as far as a step within the music just before."""
    step = max(0.05, run.quarters[-1] - run.quarters[-2]) if len(run.quarters) > 1 else 0.5
    run.events.append(index)
    run.hands.append(hand)
    run.quarters.append(run.quarters[-1] + step)


def times_of(run: Run, seconds: dict[int, float]) -> NDArray[np.float64]:
    """Second at which each event of the walk is to be expected, from the places whose second is known.

    Between known places time goes evenly; before the first and after the last, at the pace of the nearest ones.
    """
    places = sorted(seconds)
    quarters = np.array(run.quarters)
    known = quarters[places]
    at = np.maximum.accumulate(np.array([seconds[p] for p in places]))
    times = np.interp(quarters, known, at)
    if len(places) > 1:
        near = min(8, len(places) - 1)
        for side, inner in ((0, near), (-1, -1 - near)):
            span = known[inner] - known[side]
            pace = (at[inner] - at[side]) / span if span else 0.5
            outside = quarters < known[0] if side == 0 else quarters > known[-1]
            times[outside] = at[side] + (quarters[outside] - known[side]) * pace
    else:
        times += (quarters - known[0]) * 0.5
    return np.asarray(times, dtype=np.float64)
