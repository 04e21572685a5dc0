"""The way of a take through the piece: which event each cluster plays, by dynamic programming (Viterbi, 1967).

A path stands at one state after each cluster. It may stay (a rolled chord, hands apart, an ornament, wrong notes), move on by up to
`LONGEST_SKIP` events, follow a repeat or ending of the page, or jump anywhere. What is struck and written counts for it, what is only one
of the two against it; a jump costs as much as several notes, so that only evidence buys one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from passagework.listening.align_events import KEYS
from passagework.listening.align_regions import Regions
from passagework.listening.align_score import LONGEST_SKIP, Floats, Ints, States
from passagework.listening.align_take import Clusters

# All in units of one note struck as written. Chosen by hand on the concert takes and on generated practice takes
# (tests/listening/messy.py), not fitted; how much the result depends on each has not been measured.
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
FAR = 0.6
FAR_EVENTS = 200
"""A jump costs up to so much more the further it leads, full from this many events on: of places that are alike the nearest is meant."""
CHANGE_HANDS = 3.5
"""Going on from the same place with other hands."""
ONE_HAND = 0.02
"""One hand alone is believed only where it explains more."""
START_LATE = 2.0
LATER = 0.3
"""Of places that are alike a take begins at the first: what the last place of the piece costs more."""

NEVER = np.float32(-1e9)
BLOCK = 32
"""Clusters weighed at a time, over the same states."""

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
    """What clusters are worth at states."""

    def __init__(self, states: States, clusters: Clusters) -> None:
        self._clusters = clusters
        near = np.zeros((KEYS, KEYS), np.float32)
        for step, worth in ((12, OCTAVE), (24, OCTAVE), (1, NEIGHBOUR), (2, NEIGHBOUR)):
            keys = np.arange(KEYS - step)
            near[keys, keys + step] = near[keys + step, keys] = worth
        self._required = np.ascontiguousarray(states.required.T)
        almost = near @ self._required
        self._almost = np.minimum(almost, OCTAVE) * (self._required == 0)
        self._stale = np.where(states.restriking > 0, AGAIN_SHAKEN, -AGAIN).astype(np.float32)
        optional, likely = states.optional.T, states.likely.T * (EXTRA - UNASKED)
        self._free = np.concatenate(
            [
                optional * (EXTRA + OPTIONAL_HIT) + likely,
                optional * (EXTRA + self._stale) + likely,
            ]
        ).astype(np.float32)
        self._size = states.size
        self._late = LATE_S + states.spread
        self._settled = states.restriking == 0
        self._dead = states.event < 0

    def __call__(self, part: slice, index: Ints) -> tuple[Floats, Floats]:
        """For clusters by states: what entering the state with the cluster is worth, and what staying is."""
        heard = self._clusters
        first, last = heard.first[part.start], heard.first[part.stop]
        starts = heard.first[part] - first
        pitch, fresh = heard.pitch[first:last], heard.fresh[first:last]

        def added(rows: Floats) -> Floats:
            return np.asarray(np.add.reduceat(rows, starts, axis=0), dtype=np.float32)

        struck = self._required[pitch[:, None], index]
        hits = added(struck)
        anew = added(struck * fresh[:, None])
        missed = self._size[index] - hits
        common = added(self._free[(pitch + KEYS * (fresh == 0))[:, None], index])
        common += np.minimum(added(self._almost[pitch[:, None], index]), OCTAVE * missed)
        common += EXTRA * (hits - heard.size[part, None])
        enter = HIT * hits - MISSED * missed + common
        late = (heard.gap[part, None] > self._late[index]) & self._settled[index]
        stay = (HIT + MISSED) * anew * np.where(late, np.float32(1 - LATE_SHARE), np.float32(1))
        stay += common + self._stale[index] * (hits - anew)
        stay -= np.float32(LATE_STAY) * late
        dead = self._dead[index]
        enter[:, dead] = NEVER
        stay[:, dead] = NEVER
        return enter, stay


@dataclass
class _Block:
    """A block of clusters in the search, over the states looked into."""

    part: slice
    index: Ints
    entry: Floats
    """Values before the block."""
    values: Floats
    """Values after each cluster, clusters by states."""


def find_path(states: States, clusters: Clusters) -> Path:
    """The best path of `clusters` through `states`."""
    search = _Search(states, clusters)
    regions = Regions(states, clusters, BLOCK)
    blocks: list[_Block] = []
    for begin in range(0, len(clusters), BLOCK):
        last = (blocks[-1].index, blocks[-1].values[-1]) if blocks else None
        index = regions(begin, last)
        entry = search.carry(last, index)
        part = slice(begin, min(begin + BLOCK, len(clusters)))
        blocks.append(search.forward(part, index, entry))
    return search.trace(blocks)


class _Search:
    def __init__(self, states: States, clusters: Clusters) -> None:
        n = len(states.event)
        self._states, self._clusters = states, clusters
        self._weigh = _Weights(states, clusters)
        skip = np.minimum(MISSED * states.size + SKIP, MOST_SKIPPED).astype(np.float32)
        self._skips = [np.zeros(n, np.float32)]
        for k in range(1, LONGEST_SKIP):
            moved = np.zeros(n, np.float32)
            moved[k:] = skip[:-k]
            self._skips.append(self._skips[-1] + moved)
        self._hand = np.where(states.strand > 0, np.float32(ONE_HAND), np.float32(0))
        self._jump = np.where(states.bar_start, 0, OFF_BAR).astype(np.float32) + self._hand
        self._start = self._jump + np.float32(START_LATE)
        for strand in np.unique(states.strand[states.strand >= 0]):
            self._start[np.flatnonzero(states.strand == strand)[0]] -= START_LATE
        self._start += np.float32(LATER / max(states.event.max(), 1)) * states.event
        self._place = np.full(n + 1, -1, np.int64)
        self._changes = _changes(states)

    def carry(self, last: tuple[Ints, Floats] | None, index: Ints) -> Floats:
        """Values before a block, at its states."""
        if last is None:
            return -self._start[index]
        self._place[last[0]] = np.arange(len(last[0]))
        at = self._place[index]
        self._place[last[0]] = -1
        return np.where(at >= 0, last[1][at], NEVER)

    def _ways(self, index: Ints) -> tuple[list[Floats], Ints, Ints, Ints, Ints]:
        """What moving on costs, and from where to where links and changes of hands lead, in places of `index`."""
        costs = []
        for k, cost in enumerate(self._skips, 1):
            row = cost[index]
            row[:k] = -NEVER
            row[k:][index[k:] - index[:-k] != k] = -NEVER
            costs.append(row)
        self._place[index] = np.arange(len(index))
        links = self._place[self._states.links]
        links = links[(links >= 0).all(1)]
        changes = self._place[self._changes[:, index]]
        self._place[index] = -1
        which, here = np.nonzero(changes >= 0)
        return costs, links[:, 0], links[:, 1], changes[which, here], here

    def forward(self, part: slice, index: Ints, entry: Floats) -> _Block:
        """The values of a block."""
        enter, stay = self._weigh(part, index)
        values = np.empty((part.stop - part.start, len(index)), np.float32)
        costs, sources, targets, others, here = self._ways(index)
        jump, hand = self._jump[index], self._hand[index]
        event, far = self._states.event[index].astype(np.float32), np.float32(FAR / FAR_EVENTS)
        old = entry
        for row, at in enumerate(range(part.start, part.stop)):
            if at == 0:
                np.add(old, enter[0], out=values[0])
                old = values[0]
                continue
            origin = int(old.argmax())
            come = (old[origin] - self._jump_cost(at)) - jump
            come -= np.minimum(np.abs(event - event[origin]) * far, FAR)
            for k, cost in enumerate(costs, 1):
                np.maximum(come[k:], old[:-k] - cost[k:], out=come[k:])
            if len(sources):
                np.maximum.at(come, targets, old[sources] - np.float32(LINK))
            if len(others):
                np.maximum.at(come, here, old[others] - np.float32(CHANGE_HANDS))
            come += enter[row]
            rest = np.maximum(stay[row], np.float32(-EXTRA) * self._clusters.size[at])
            rest += old
            np.maximum(come, rest, out=come)
            np.subtract(come, hand, out=values[row])
            old = values[row]
        return _Block(part, index, entry, values)

    def _jump_cost(self, at: int) -> np.float32:
        return np.float32(JUMP_AFTER_PAUSE if self._clusters.gap[at] > PAUSE_S else JUMP)

    def trace(self, blocks: list[_Block]) -> Path:
        """Back along the best path: at each cluster the move that gave its value."""
        length = len(self._clusters)
        state, move = np.zeros(length, np.int64), np.zeros(length, np.int64)
        here = int(blocks[-1].index[blocks[-1].values[-1].argmax()]) if blocks else 0
        for block in reversed(blocks):
            ways = self._ways(block.index)
            place = int(np.searchsorted(block.index, here))
            low, high = 0, -1
            for row in range(len(block.values) - 1, -1, -1):
                at = block.part.start + row
                state[at] = block.index[place]
                if at == 0:
                    move[0] = JUMPED
                    break
                if not low <= place <= high:
                    high = place
                    low = max(place - LONGEST_SKIP * (row + 1), 0)
                    part = slice(block.part.start, at + 1)
                    enter, stay = self._weigh(part, block.index[low : place + 1])
                old = block.values[row - 1] if row else block.entry
                worth = float(enter[row, place - low]), float(stay[row, place - low])
                move[at], place = self._before(old, place, worth, at, ways, block.index)
            here = int(block.index[place])
        return Path(state, move)

    def _before(
        self, old: Floats, here: int, worth: tuple[float, float], at: int,
        ways: tuple[list[Floats], Ints, Ints, Ints, Ints], index: Ints,
    ) -> tuple[int, int]:  # fmt: skip
        """The move that is best at `here`, and where it came from."""
        costs, sources, targets, others, changed = ways
        enter, stay = worth
        options = [
            (old[here] + stay, STAY, here),
            (old[here] - np.float32(EXTRA) * self._clusters.size[at], EXTRA_ONLY, here),
        ]
        for k, cost in enumerate(costs, 1):
            if here >= k:
                options.append((old[here - k] - cost[here] + enter, k, here - k))
        options += [
            (old[source] - LINK + enter, LINKED, int(source)) for source in sources[targets == here]
        ]
        options += [
            (old[other] - CHANGE_HANDS + enter, CHANGED, int(other))
            for other in others[changed == here]
        ]
        origin = int(old.argmax())
        event = self._states.event
        far = min(abs(event[index[here]] - event[index[origin]]) * FAR / FAR_EVENTS, FAR)
        leap = old[origin] - self._jump_cost(at) - self._jump[index[here]] - far + enter
        options.append((leap, JUMPED, origin))
        _, how, before = max(options, key=lambda option: option[0])
        return how, before


def _changes(states: States) -> Ints:
    """Two rows: for each state, the states of the other strands just before its event; the number of states where there is none."""
    n = len(states.event)
    rows = np.full((2, n), n, np.int64)
    for strand in range(3):
        mine = np.flatnonzero(states.strand == strand)
        for row, other in enumerate(s for s in range(3) if s != strand):
            theirs = np.flatnonzero(states.strand == other)
            if not len(mine) or not len(theirs):
                continue
            place = np.searchsorted(states.event[theirs], states.event[mine])
            rows[row, mine[place > 0]] = theirs[place[place > 0] - 1]
    return rows
