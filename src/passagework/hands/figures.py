"""The same figure takes the same fingers when it comes back, at the octave too, and on the way down.

Attacks whose surroundings look the same (two attacks on either side, the same keys but for octaves)
form a class. What each shape costs at its best, seen from every member of the class, is averaged, and
every member is drawn towards what suits them all. Within a run the way back counts as the way there.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Sequence

import numpy as np

from passagework.hands.layers import Layer
from passagework.hands.search import Lattice, sweep
from passagework.hands.slices import Slice

AROUND = 2
"""Attacks on either side that make up the surroundings of one."""

LONG_GAP = 0.25
"""Seconds of silence that end a figure."""

ROUNDS = 2
"""How often the members of a class are brought together."""

LIKENESS = 1.03
"""Weight of the average of a class against what a member wants by itself."""

MOST_REGRET = 4.0
"""A shape that costs a member more than this is not counted worse: one odd place has one vote."""


def draw_together(lattice: Lattice, slices: Sequence[Slice]) -> None:
    """Add to the costs of every shape what the rest of its class thinks of it, in place."""
    classes = _classes(lattice.layers, slices)
    if not classes:
        return
    for _ in range(ROUNDS):
        through = sweep(lattice)
        for members in classes:
            regret = np.zeros_like(through[members[0]])
            for i in members:
                regret += np.minimum(through[i] - through[i].min(), MOST_REGRET)
            regret *= LIKENESS / len(members)
            for i in members:
                lattice.own[i] = lattice.own[i] + regret


def _classes(layers: Sequence[Layer], slices: Sequence[Slice]) -> list[list[int]]:
    found: dict[Hashable, list[int]] = {}
    for i in range(len(layers)):
        found.setdefault(_surroundings(layers, slices, i), []).append(i)
    return [members for members in found.values() if len(members) > 1]


def _surroundings(layers: Sequence[Layer], slices: Sequence[Slice], place: int) -> Hashable:
    centre = layers[place]
    window: list[Hashable] = []
    line: list[int] = []
    for i in range(place - AROUND, place + AROUND + 1):
        if not 0 <= i < len(layers) or (i > place and slices[i].gap > LONG_GAP):
            window.append(None)
            continue
        layer = layers[i]
        away = layer.base - centre.base
        window.append((tuple(k + away for k in layer.keys), layer.struck))
        if len(layer.keys) == 1:
            line.append(layer.keys[0] + away)
    if len(line) == 2 * AROUND + 1 and _falls(line):
        window.reverse()
    return tuple(window), centre.flags


def _falls(line: Sequence[int]) -> bool:
    return all(a > b for a, b in itertools.pairwise(line))
