"""The way of a take through the piece: which event each cluster plays, by dynamic programming (Viterbi, 1967).

A path stands at one state after each cluster. It may stay (a rolled chord, hands apart, an ornament, wrong notes), move on by up to
`LONGEST_SKIP` events, follow a repeat or ending of the page, or jump anywhere. What is struck and written counts for it, what is only one
of the two against it; a jump costs as much as several notes, so that only evidence buys one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from passagework.listening.align_events import KEYS
from passagework.listening.align_score import LONGEST_SKIP, Floats, Ints, States
from passagework.listening.align_take import Clusters

# All in units of one note struck as written. Set on generated practice takes (tests/listening/messy.py), where the result
# changes little when any of them is halved or doubled.
HIT = 1.0
OPTIONAL_HIT = 0.5
EXTRA = 0.6
UNASKED = 0.15
"""A stroke of a trill that no sign asks for costs only this."""
MISSED = 0.35
MOST_SKIPPED = 1.4
"""A skipped event costs no more, however full."""
SKIP = 0.15
OCTAVE = 0.7
NEIGHBOUR = 0.35
"""What a stroke an octave off, or on the next key, is worth where the written key was not struck."""
AGAIN = 0.2
AGAIN_SHAKEN = 0.3
"""What a key struck again costs while the path stays, and what it is worth in a trill."""
LATE_SHARE = 0.6
"""Share of its worth that a note of the event loses when it is late."""
LATE_STAY = 0.45
LATE_S = 0.18
"""Staying at an event longer than this costs `LATE_STAY`, unless an ornament is played there."""
LINK = 0.8
JUMP = 8.0
JUMP_AFTER_PAUSE = 6.0
PAUSE_S = 1.0
OFF_BAR = 0.7
"""A jump to a place within a bar costs this more."""
CHANGE_HANDS = 3.5
"""Going on from the same place with other hands."""
ONE_HAND = 0.02
"""One hand alone is believed only where it explains more."""
START_LATE = 2.0

NEVER = np.float32(-1e9)
BLOCK = 32
"""Clusters weighed at a time."""

STAY, LINKED, JUMPED, CHANGED = 0, -1, -2, -3
"""Moves beside moving on by 1, 2 ... events."""
EXTRA_ONLY = -4
"""Staying, and nothing that was struck belongs here."""


@dataclass(frozen=True)
class Path:
    """For each cluster, the state in which the path stands after it, and how it came there."""

    state: Ints
    move: Ints


class _Weights:
    """What a block of clusters is worth at each state."""

    def __init__(self, states: States) -> None:
        self._required = np.ascontiguousarray(states.required.T)
        self._likely = np.ascontiguousarray(states.likely.T)
        self._optional = np.ascontiguousarray(states.optional.T)
        near = np.zeros((KEYS, KEYS), np.float32)
        for step, worth in ((12, OCTAVE), (24, OCTAVE), (1, NEIGHBOUR), (2, NEIGHBOUR)):
            keys = np.arange(KEYS - step)
            near[keys, keys + step] = near[keys + step, keys] = worth
        self._near = np.minimum(near @ self._required, OCTAVE) * (self._required == 0)
        self._size = states.size
        self._late = LATE_S + states.spread
        self._settled = 1 - states.restriking
        self._stale = np.where(states.restriking > 0, AGAIN_SHAKEN, -AGAIN).astype(np.float32)
        self._dead = states.event < 0

    def __call__(self, clusters: Clusters, part: slice) -> tuple[Floats, Floats]:
        keys, size, gap = clusters.keys[part], clusters.size[part], clusters.gap[part]
        anew = clusters.fresh[part]
        hits, fresh = keys @ self._required, anew @ self._required
        extras, fresh_extras = keys @ self._optional, anew @ self._optional
        near = keys @ self._near
        missed = np.maximum(self._size[None, :] - hits, 0)
        common = np.minimum(near, OCTAVE * missed)
        common -= EXTRA * (size[:, None] - hits - extras)
        common += (EXTRA - UNASKED) * (keys @ self._likely)
        common += OPTIONAL_HIT * fresh_extras + self._stale * (extras - fresh_extras)
        enter = HIT * hits - MISSED * missed + common
        late = (gap[:, None] > self._late[None, :]) * self._settled[None, :]
        stay = (HIT + MISSED) * fresh * (1 - LATE_SHARE * late) + self._stale * (hits - fresh)
        stay += common - LATE_STAY * late
        enter[:, self._dead] = NEVER
        stay[:, self._dead] = NEVER
        return enter, stay


def find_path(states: States, clusters: Clusters) -> Path:
    """The best path of `clusters` through `states`."""
    n, length = len(states.event), len(clusters)
    weigh = _Weights(states)
    search = _Search(states)
    values = np.empty((length, n), np.float32)
    now = search.start()
    for begin in range(0, length, BLOCK):
        part = slice(begin, min(begin + BLOCK, length))
        enter, stay = weigh(clusters, part)
        for row, at in enumerate(range(part.start, part.stop)):
            search.step(now, enter[row], stay[row], clusters, at, values[at], first=at == 0)
            now = values[at]
    return search.trace(values, clusters, weigh)


class _Search:
    def __init__(self, states: States) -> None:
        n = len(states.event)
        self._states = states
        skip = np.minimum(MISSED * states.size + SKIP, MOST_SKIPPED).astype(np.float32)
        self._skips = []
        cost = np.zeros(n, np.float32)
        for k in range(1, LONGEST_SKIP + 1):
            self._skips.append(cost.copy())
            moved = np.full(n, 0, np.float32)
            moved[k:] = skip[:-k]
            cost = cost + moved
        self._hand = np.where(states.strand > 0, np.float32(ONE_HAND), np.float32(0))
        self._jump = np.where(states.bar_start, 0, OFF_BAR).astype(np.float32) + self._hand
        self._sources, self._targets = states.links[:, 0], states.links[:, 1]
        self._others = _same_event(states)

    def start(self) -> Floats:
        """Before the first cluster: anywhere, best at the beginning."""
        return self._jump * 0

    def step(self, old: Floats, enter: Floats, stay: Floats, clusters: Clusters, at: int, out: Floats, *, first: bool) -> None:  # fmt: skip
        """One cluster: from `old` to `out`."""
        if first:
            np.subtract(enter, self._jump + START_LATE, out=out)
            for begin in _beginnings(self._states):
                out[begin] += START_LATE
            return
        jump = JUMP_AFTER_PAUSE if clusters.gap[at] > PAUSE_S else JUMP
        best = old.max() - np.float32(jump)
        come = best - self._jump
        for k, cost in enumerate(self._skips, 1):
            np.maximum(come[k:], old[:-k] - cost[k:], out=come[k:])
        if len(self._sources):
            np.maximum.at(come, self._targets, old[self._sources] - np.float32(LINK))
        come += enter
        np.maximum(come, old + stay, out=come)
        np.maximum(come, old - np.float32(EXTRA) * clusters.size[at], out=come)
        for here, there in self._others:
            changed = old[there - 1] - np.float32(CHANGE_HANDS) + enter[here]
            come[here] = np.maximum(come[here], changed)
        come -= self._hand
        out[:] = come

    def trace(self, values: Floats, clusters: Clusters, weigh: _Weights) -> Path:
        """Back along the best path: at each cluster the move that gave its value."""
        length = len(clusters)
        state = np.zeros(length, np.int64)
        move = np.zeros(length, np.int64)
        if not length:
            return Path(state, move)
        here = int(values[-1].argmax())
        for block in range((length - 1) // BLOCK, -1, -1):
            part = slice(block * BLOCK, min((block + 1) * BLOCK, length))
            enter, stay = weigh(clusters, part)
            for at in range(part.stop - 1, part.start - 1, -1):
                state[at] = here
                if at == 0:
                    move[0] = JUMPED
                    break
                row = at - part.start
                move[at], here = self._before(
                    values[at - 1], here, enter[row], stay[row], clusters, at
                )
        return Path(state, move)

    def _before(self, old: Floats, here: int, enter: Floats, stay: Floats, clusters: Clusters, at: int) -> tuple[int, int]:  # fmt: skip
        options = [
            (old[here] + stay[here], STAY, here),
            (old[here] - np.float32(EXTRA) * clusters.size[at], EXTRA_ONLY, here),
        ]
        for k, cost in enumerate(self._skips, 1):
            if here >= k:
                options.append((old[here - k] - cost[here] + enter[here], k, here - k))
        options += [
            (old[source] - np.float32(LINK) + enter[here], LINKED, int(source))
            for source in self._sources[self._targets == here]
        ]
        options += [
            (old[other - 1] - np.float32(CHANGE_HANDS) + enter[here], CHANGED, int(other) - 1)
            for mine, there in self._others
            for other in there[mine == here]
        ]
        jump = JUMP_AFTER_PAUSE if clusters.gap[at] > PAUSE_S else JUMP
        origin = int(old.argmax())
        options.append(
            (old[origin] - np.float32(jump) - self._jump[here] + enter[here], JUMPED, origin)
        )
        _, how, before = max(options, key=lambda option: option[0])
        return how, before


def _beginnings(states: States) -> list[int]:
    return [int(np.flatnonzero(states.strand == s)[0]) for s in np.unique(states.strand) if s >= 0]


def _same_event(states: States) -> list[tuple[Ints, Ints]]:
    """For each pair of strands, the states of the same event: arrays of states here and there."""
    found = []
    for one in range(3):
        for other in range(3):
            if one == other:
                continue
            mine = np.flatnonzero(states.strand == one)
            theirs = np.flatnonzero(states.strand == other)
            if not len(mine) or not len(theirs):
                continue
            place = np.searchsorted(states.event[theirs], states.event[mine])
            place = np.minimum(place, len(theirs) - 1)
            there = theirs[place]
            use = there > theirs[0]
            found.append((mine[use], there[use]))
    return found
