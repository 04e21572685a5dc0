"""Where a path may be looked for: only in the cells of states that sound like what is being played, and around where it stands.

The states are cut into *cells* of `CELL`. For every few clusters of the take the cells are compared by the keys they hold, whatever their
order; that comparison is a product of two small matrices, so that the search itself stays linear in the length of the take.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_score import Floats, Ints, States
from passagework.listening.align_take import Clusters

CELL = 32
WINDOW = 16
"""Clusters compared at a time; each begins half a window after the one before."""
BEST = 2
"""Cells that are looked into for each window, in each strand."""
ALIKE = 0.97
MOST_ALIKE = 6
"""Cells that are as good as this share of the best one are looked into as well, so many at most: the same music comes more than once."""
BACK, AHEAD = 3, 2
"""Cells behind and ahead of where a path may stand: restarts mostly go back a few bars."""
BEAM = 8.0
"""Paths that are this much worse than the best one are given up: a jump from the best one would do as well."""
MOST_BEAM = 6
"""Cells that are followed, at most: in a take of something else every place is as good as any."""
ALL_BELOW = 640
"""With no more states than this, all are looked into."""


class Regions:
    """Chooses states for each block of clusters."""

    def __init__(self, states: States, clusters: Clusters, block: int) -> None:
        self._states = states
        self._size = len(states.event)
        self._cells = -(-self._size // CELL)
        self._block = block
        self._strand = np.array([self._strand_of(cell) for cell in range(self._cells)])
        self._likes = self._compare(clusters)
        self._follow = self._neighbours()

    def __call__(self, begin: int, values: tuple[Ints, Floats] | None) -> Ints:
        """States for the block of clusters from `begin`, sorted; `values` are the states and values before it."""
        if self._size <= ALL_BELOW or values is None:
            return np.arange(
                self._size
            )  # where the take begins, everything is compared note by note
        use = np.zeros(self._cells + 1, np.bool_)
        first = begin // (WINDOW // 2)
        last = (begin + self._block) // (WINDOW // 2)
        for row in self._likes[max(first - 1, 0) : last + 1]:
            for strand in range(int(self._strand.max()) + 1):
                mine = np.flatnonzero(self._strand == strand)
                best = mine[np.argpartition(row[mine], -min(MOST_ALIKE, len(mine)))[-MOST_ALIKE:]]
                best = best[np.argsort(-row[best])]
                best = best[(row[best] >= ALIKE * row[best[0]]) | (np.arange(len(best)) < BEST)]
                use[best] = True
                use[best + 1] = True
        index, value = values
        order = np.argsort(-value)[: MOST_BEAM * CELL]
        for cell in list(dict.fromkeys(index[order[value[order] >= value.max() - BEAM]] // CELL))[
            :MOST_BEAM
        ]:
            use[self._follow[cell]] = True
        cells = np.flatnonzero(use[:-1])
        states = (cells[:, None] * CELL + np.arange(CELL)).ravel()

        return np.asarray(states[states < self._size], dtype=np.int64)

    def _strand_of(self, cell: int) -> int:
        rows = self._states.strand[cell * CELL : (cell + 1) * CELL]
        return int(rows.max())

    def _compare(self, clusters: Clusters) -> Floats:
        """How alike each window of the take and each cell are, by the roots of how often each key comes (Bhattacharyya, 1943)."""
        total = np.zeros((self._cells, self._states.required.shape[1]), np.float32)
        np.add.at(total, np.arange(self._size) // CELL, self._states.required)
        wide = total.copy()
        wide[:-1] += 0.5 * total[1:]
        wide[1:] += 0.5 * total[:-1]
        starts = range(0, max(len(clusters), 1), WINDOW // 2)
        heard = np.array([clusters.keys[s : s + WINDOW].sum(0) for s in starts], np.float32)
        return np.asarray(_roots(heard) @ _roots(wide).T, dtype=np.float32)

    def _neighbours(self) -> list[NDArray[np.int64]]:
        """For each cell, those to which a path that stands there may soon come: near it in every strand, and by the page's links."""
        event = self._states.event
        centre = np.array([event[c * CELL : (c + 1) * CELL].max() for c in range(self._cells)])
        near = []
        links = self._states.links // CELL
        for cell in range(self._cells):
            found = []
            for strand in range(int(self._strand.max()) + 1):
                mine = np.flatnonzero(self._strand == strand)
                at = int(np.searchsorted(centre[mine], centre[cell]))
                found.append(mine[max(at - BACK, 0) : at + AHEAD + 1])
            targets = links[(links[:, 0] >= cell) & (links[:, 0] <= cell + AHEAD), 1]
            near.append(
                np.unique(np.concatenate([*found, targets, np.minimum(targets + 1, self._cells)]))
            )
        return near


def _roots(counts: Floats) -> Floats:
    total = np.maximum(counts.sum(1, keepdims=True), 1)
    return np.asarray(np.sqrt(counts / total), dtype=np.float32)
