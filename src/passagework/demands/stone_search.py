"""The search behind stepping stones: fewest pieces first, then the least that is new at once.

The problem
-----------
What is secure is a row of numbers, one for each kind. A piece can be learned when none of its demands exceeds what is secure by
more than one step; after it, what is secure is at least what it asked. Wanted is a shortest sequence of pieces after which every
demand of the goal is within one step, and among the shortest the one with the smallest sum of squares of what each piece brings
that is new (squares, so that two halves are better than all at once).

How it is solved
----------------
More that is secure is never worse for the number of pieces. So the first search goes layer by layer, a piece at a time, and keeps
of every layer only rows that no other row of it reaches everywhere; cut to what can still matter, there are few. It is exact unless a
layer grows beyond `WIDEST`, which is said. The second search is A* over the same rows, uncut, with the number of pieces fixed and
for what remains the bound that each kind alone gives. It is exact unless it takes more than `MOST_NODES`, which is said too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import count

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

WIDEST, MOST_GROWN = 150, 3_000
"""Rows of one layer that are kept, and that are compared for it: those that lack least."""

MOST_NODES, MOST_LOOKED_AT = 1_500, 400_000
"""Rows that the second search opens, and pieces that it tries after them."""

MOST_RUNGS = 60
"""Steps of the longest ladder of one kind that is looked for."""

SLACK = 1e-9


@dataclass(frozen=True)
class Found:
    """A sequence of pieces."""

    order: tuple[int, ...]
    """Indices of the pieces, in the order in which they are learned."""
    reached: bool
    """Whether every demand of the goal is within one step after it."""
    fewest: int
    """No sequence that reaches the goal is shorter than this; where none does, 0."""
    least_new: bool
    """Whether it is proved that no sequence of this length brings less that is new at once."""


def search(pieces: Array, goal: Array, secure: Array, step: float) -> Found:
    """The best sequence of `pieces` (a row each, a column for each kind) from `secure` to within `step` of `goal`.

    Where no sequence reaches the goal, one that comes as near as any does in every kind, to a quarter of a step.
    """
    needed = goal - step
    can, top = reachable(pieces, secure, step)
    reached = bool((top >= needed - SLACK).all())
    if not reached:
        # As near as the library leads; for the last quarter of a step no further piece is worth the while.
        needed = np.where(top >= needed - SLACK, needed, np.maximum(top - step / 4, secure))
    useful = can[_useful(pieces[can], needed, secure, step)]
    rows = pieces[useful]
    path, exact = _fewest(rows, needed, secure, step)
    if not exact:
        path = _without_idle(rows, path, needed, secure, step)
    better, proved = _least_new(rows, needed, secure, step, len(path))
    chosen = path if better is None else better
    bound = len(path) if exact else int(_alone(rows, needed, step).pieces_from(secure[None, :])[0])
    order = tuple(int(useful[i]) for i in chosen)
    return Found(order, reached, bound if reached else 0, proved and exact)


def reachable(pieces: Array, secure: Array, step: float) -> tuple[NDArray[np.intp], Array]:
    """Pieces that can be learned at all, in any number of pieces, and what is secure after all of them."""
    top = secure.copy()
    left = np.arange(len(pieces))
    taken: list[NDArray[np.intp]] = []
    while len(left):
        can = (pieces[left] <= top + step + SLACK).all(axis=1)
        if not can.any():
            break
        taken.append(left[can])
        top = np.maximum(top, pieces[left[can]].max(axis=0))
        left = left[~can]
    return (np.sort(np.concatenate(taken)) if taken else left[:0]), top


def _useful(rows: Array, needed: Array, secure: Array, step: float) -> NDArray[np.intp]:
    """Rows that bring something that matters, directly or for another one that does."""
    wanted = needed  # per kind, how much of it can matter
    chosen = np.zeros(len(rows), dtype=bool)
    while True:
        brings = (np.minimum(rows, wanted) > secure + SLACK).any(axis=1)
        if (brings <= chosen).all():
            return np.flatnonzero(chosen)
        chosen |= brings
        wanted = _caps(rows[chosen], needed, step)


def _caps(rows: Array, needed: Array, step: float) -> Array:
    """How much of each kind can matter: what the goal needs, or some piece to be learned."""
    return np.asarray(np.maximum(needed, rows.max(axis=0) - step)) if len(rows) else needed


def _fewest(rows: Array, needed: Array, secure: Array, step: float) -> tuple[tuple[int, ...], bool]:
    """A shortest sequence to what is needed (which some sequence reaches), and whether no layer was cut."""
    caps = _caps(rows, needed, step)
    layer = np.minimum(secure, caps)[None, :]
    paths: list[tuple[int, ...]] = [()]
    exact = True
    while True:
        lacking = _beyond(layer, needed)
        at = int(lacking.argmin())
        if lacking[at] <= SLACK:
            return paths[at], exact
        grown, came, dropped = _grown(rows, layer, needed, caps, step)
        layer, kept, cut = _largest(grown, needed)
        paths = [(*paths[came[i, 0]], int(came[i, 1])) for i in kept]
        exact &= not (cut or dropped)


def _grown(
    rows: Array, layer: Array, needed: Array, caps: Array, step: float
) -> tuple[Array, NDArray[np.intp], bool]:
    """What one more piece makes of every row of a layer, the row and the piece that it came from, and whether some were dropped."""
    grown: list[Array] = []
    came: list[NDArray[np.intp]] = []
    for at, state in enumerate(layer):
        can = np.flatnonzero((rows <= state + step + SLACK).all(axis=1))
        after = np.minimum(np.maximum(rows[can], state), caps)
        new = (after > state + SLACK).any(axis=1)
        grown.append(after[new])
        came.append(np.column_stack([np.full(int(new.sum()), at), can[new]]))
    states, origins = np.concatenate(grown), np.concatenate(came)
    if len(states) <= MOST_GROWN:
        return states, origins, False
    nearest = np.argpartition(_beyond(states, needed), MOST_GROWN)[:MOST_GROWN]
    nearest.sort()
    return states[nearest], origins[nearest], True


def _without_idle(
    rows: Array, path: Sequence[int], needed: Array, secure: Array, step: float
) -> tuple[int, ...]:
    """`path` without pieces that it leads there without as well, as a cut search may have taken them."""
    chosen = list(path)
    for piece in path:
        rest = [p for p in chosen if p != piece]
        state = secure
        for at in rest:
            if (rows[at] > state + step + SLACK).any():
                break
            state = np.maximum(state, rows[at])
        else:
            if (state >= needed - SLACK).all():
                chosen = rest
    return tuple(chosen)


def _beyond(states: Array, needed: Array) -> Array:
    """For each row how far it stays below what is needed, over all kinds."""
    return np.asarray(np.maximum(needed - states, 0.0).sum(axis=1))


def _largest(states: Array, needed: Array) -> tuple[Array, list[int], bool]:
    """The rows that no other row reaches everywhere, their indices, and whether some had to be left out."""
    order = np.lexsort((np.arange(len(states)), -states.sum(axis=1), _beyond(states, needed)))
    kept: list[int] = []
    rows = np.empty((0, states.shape[1]))
    for i in order.tolist():
        if len(kept) and (rows[: len(kept)] >= states[i] - SLACK).all(axis=1).any():
            continue
        if len(kept) >= WIDEST:
            return rows[: len(kept)], kept, True
        if len(kept) == len(rows):
            rows = np.vstack([rows, np.empty((max(len(rows), 32), states.shape[1]))])
        rows[len(kept)] = states[i]
        kept.append(i)
    return rows[: len(kept)], kept, False


@dataclass(frozen=True)
class _Alone:
    """Each kind by itself: the least number of pieces that a row of what is secure is away from what is needed."""

    ladders: tuple[tuple[int, tuple[float, ...]], ...]
    """For each kind that is needed its column, and the least that must be secure for 0, 1, 2 ... more pieces."""

    def pieces_from(self, states: Array) -> NDArray[np.intp]:
        """For each row: no fewer pieces than this are needed from there."""
        most = np.zeros(len(states), dtype=np.intp)
        for column, rungs in self.ladders:
            # rungs fall from the goal down: as many are above what is secure as pieces are needed
            above = np.searchsorted(-np.asarray(rungs), -(states[:, column] + SLACK))
            most = np.maximum(most, above)
        return most


def _alone(rows: Array, needed: Array, step: float) -> _Alone:
    """From the top down: a rung below needs a piece that reaches the rung above and asks for no more than a step."""
    ladders: list[tuple[int, tuple[float, ...]]] = []
    for column, goal in enumerate(needed.tolist()):
        values = np.unique(rows[:, column])
        rungs = [goal]
        while rungs[-1] > 0 and len(rungs) < MOST_RUNGS:
            above = values[values >= rungs[-1] - SLACK]
            if not len(above):
                break
            least = float(above[0]) - step
            if least >= rungs[-1] - SLACK:
                break
            rungs.append(least)
        ladders.append((column, tuple(rungs)))
    return _Alone(tuple(ladders))


def _least_new(
    rows: Array, needed: Array, secure: Array, step: float, length: int
) -> tuple[tuple[int, ...] | None, bool]:
    """Of the sequences of that length the one that brings the least that is new at once, and whether that is proved."""
    alone = _alone(rows, needed, step)
    ticket = count()
    queue: list[tuple[float, int, int, Array, tuple[int, ...]]] = [
        (0.0, 0, next(ticket), secure, ())
    ]
    known: dict[tuple[int, bytes], float] = {}
    opened = looked_at = 0
    while queue:
        cost, minus, _, state, path = heappop(queue)
        if (state >= needed - SLACK).all():
            return path, True
        opened += 1
        can = np.flatnonzero((rows <= state + step + SLACK).all(axis=1))
        looked_at += len(can)
        if opened > MOST_NODES or looked_at > MOST_LOOKED_AT:
            return None, False
        after = np.maximum(rows[can], state)
        fits = len(path) + 1 + alone.pieces_from(after) <= length
        prices = cost + (after - state).sum(axis=1) ** 2
        for piece, row, price in zip(
            can[fits].tolist(), after[fits], prices[fits].tolist(), strict=True
        ):
            key = len(path) + 1, row.tobytes()
            if known.get(key, np.inf) > price:
                known[key] = price
                heappush(queue, (price, minus - 1, next(ticket), row, (*path, piece)))
    return None, False
