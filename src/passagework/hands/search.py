"""The cheapest path through the layers, exactly, with costs over two and over three attacks.

A state is a pair of shapes (the last slice's and this one's), so that a finger is judged by the
position it belongs to and not by its neighbour alone. `sweep` also gives, for every shape of every
slice, what the best whole path through it costs: the ground for alternatives and for figures that
are to be fingered alike.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from passagework.hands.layers import Costs, Layer
from passagework.hands.slices import Slice
from passagework.hands.terms import TERMS, Table
from passagework.hands.weights import Moment, factors

FORBIDDEN = 1e6
"""Cost of what is excluded; finite, so that a contradiction still has a best answer."""


@dataclass(slots=True)
class Lattice:
    """Everything the search needs, weighed: costs of shapes, of steps and of steps over one attack."""

    layers: list[Layer]
    own: list[NDArray[np.float64]]
    steps: list[Table]
    """``steps[i]`` leads from layer `i` to layer `i + 1`."""
    skips: list[Table]
    """``skips[i]`` leads from layer `i` to layer `i + 2`."""


def connect(layers: list[Layer], slices: Sequence[Slice], costs: Costs) -> Lattice:
    """Weigh the shapes of `layers` and what leads from one to the next."""
    steps = [
        costs.step(one, two, slices[i + 1].sustained)
        for i, (one, two) in enumerate(itertools.pairwise(layers))
    ]
    skips = []
    for one, two, three in zip(layers, layers[1:], layers[2:], strict=False):
        skips.append(costs.skip(one, three, freer(two.moment, three.moment)))
    return Lattice(layers, [costs.own(layer) for layer in layers], steps, skips)


def freer(one: Moment, other: Moment) -> Moment:
    """The moment at which the hand is less bound."""
    return one if one.legato <= other.legato else other


def best_path(lattice: Lattice) -> tuple[list[int], float]:
    """The shape of every layer on the cheapest path, and its cost."""
    count = len(lattice.layers)
    if count == 0:
        return [], 0.0
    if count == 1:
        at = int(lattice.own[0].argmin())
        return [at], float(lattice.own[0][at])
    value = lattice.own[0][:, None] + lattice.steps[0] + lattice.own[1][None, :]
    back: list[NDArray[np.intp]] = []
    for i in range(2, count):
        cube = value[:, :, None] + lattice.skips[i - 2][:, None, :]
        choice = cube.argmin(axis=0)
        back.append(choice)
        value = cube.min(axis=0)
        value += lattice.steps[i - 1]
        value += lattice.own[i]
    flat = int(value.argmin())
    b, c = divmod(flat, value.shape[1])
    path = [c, b]
    for choice in reversed(back):
        b, c = int(choice[b, c]), b
        path.append(b)
    path.reverse()
    return path, float(value.min())


def sweep(lattice: Lattice) -> list[NDArray[np.float64]]:
    """For every layer and shape, the cost of the cheapest whole path through that shape."""
    count = len(lattice.layers)
    if count < 2:
        return [own.copy() for own in lattice.own]
    ahead = [lattice.own[0][:, None] + lattice.steps[0] + lattice.own[1][None, :]]
    for i in range(2, count):
        value = (ahead[-1][:, :, None] + lattice.skips[i - 2][:, None, :]).min(axis=0)
        value += lattice.steps[i - 1]
        value += lattice.own[i]
        ahead.append(value)
    behind = np.zeros_like(ahead[-1])
    found: list[NDArray[np.float64]] = [ahead[-1].min(axis=0)]
    for i in range(count - 2, -1, -1):
        found.append((ahead[i] + behind).min(axis=1))
        if i > 0:
            tail = lattice.steps[i] + lattice.own[i + 1][None, :] + behind
            behind = (tail[None, :, :] + lattice.skips[i - 1][:, None, :]).min(axis=2)
    found.reverse()
    return found


def path_cost(lattice: Lattice, path: Sequence[int]) -> float:
    """Cost of one path."""
    total = sum(float(own[s]) for own, s in zip(lattice.own, path, strict=True))
    total += sum(float(m[path[i], path[i + 1]]) for i, m in enumerate(lattice.steps))
    return total + sum(float(m[path[i], path[i + 2]]) for i, m in enumerate(lattice.skips))


def path_terms(
    lattice: Lattice, slices: Sequence[Slice], costs: Costs, path: Sequence[int]
) -> Table:
    """How much of every term one path holds, times what its moment makes of it; ``(TERMS,)``."""
    layers = lattice.layers
    total = np.zeros(TERMS)
    for i, layer in enumerate(layers):
        total += factors(layer.moment) * layer.terms[:, path[i]]
        if i >= 1:
            stack = costs.step_stack(layers[i - 1], layer, slices[i].sustained)
            total += factors(layer.moment) * stack[:, path[i - 1], path[i]]
        if i >= 2:
            at = freer(layers[i - 1].moment, layer.moment)
            stack = costs.skip_stack(layers[i - 2], layer)
            total += factors(at) * stack[:, path[i - 2], path[i]]
    return total
