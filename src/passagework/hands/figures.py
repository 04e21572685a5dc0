"""The same figure takes the same fingers when it comes back, at the octave too, and on the way down.

Attacks whose surroundings look the same (two attacks on either side, the same keys but for octaves)
form a class. What each shape costs at its best, seen from every member of the class, is averaged, and
every member is drawn towards what suits them all. Within a run the way back counts as the way there.
"""

from __future__ import annotations

import itertools
from collections.abc import Hashable, Sequence

import numpy as np

from passagework.hands.keyboard import WHITE_WIDTH_MM, key_mm
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

SEQUENCE = 0.3
"""The same for figures that come back on other degrees of the scale."""

MOST_REGRET = 4.0
"""A shape that costs a member more than this is not counted worse: one odd place has one vote."""


def draw_together(lattice: Lattice, slices: Sequence[Slice]) -> None:
    """Add to the costs of every shape what the rest of its class thinks of it, in place."""
    classes = _classes(lattice.layers, slices)
    if not classes:
        return
    for _ in range(ROUNDS):
        through = sweep(lattice)
        for weight, members in classes:
            regret = np.zeros_like(through[members[0]])
            for i in members:
                regret += np.minimum(through[i] - through[i].min(), MOST_REGRET)
            regret *= weight / len(members)
            for i in members:
                lattice.own[i] = lattice.own[i] + regret


def _classes(layers: Sequence[Layer], slices: Sequence[Slice]) -> list[tuple[float, list[int]]]:
    found: dict[Hashable, list[int]] = {}
    for i in range(len(layers)):
        found.setdefault(_surroundings(layers, slices, i), []).append(i)
    alike: dict[Hashable, list[int]] = {}
    for i in range(AROUND, len(layers) - AROUND):
        contour = _contour(layers, slices, i)
        if contour is not None:
            alike.setdefault(contour, []).append(i)
    same = [(LIKENESS, members) for members in found.values() if len(members) > 1]
    return same + [(SEQUENCE, members) for members in alike.values() if len(members) > 1]


def _contour(layers: Sequence[Layer], slices: Sequence[Slice], place: int) -> Hashable | None:
    """The surroundings of an attack in steps of a white key, for lines of single notes only."""
    window = range(place - AROUND, place + AROUND + 1)
    if any(len(layers[i].keys) != 1 for i in window):
        return None
    if any(slices[i].gap > LONG_GAP for i in window[1:]):
        return None
    keys = [layers[i].base + layers[i].keys[0] for i in window]
    steps = tuple(round((key_mm(k) - key_mm(keys[AROUND])) / WHITE_WIDTH_MM) for k in keys)
    return steps, layers[place].flags


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
