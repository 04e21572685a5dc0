"""One hand of a piece: slices, what is demanded of them, and the cheapest way through."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.tempo import TempoMap
from passagework.hands.figures import draw_together
from passagework.hands.hand import Hand
from passagework.hands.layers import Costs, Layer
from passagework.hands.ornaments import ornament_cost
from passagework.hands.runs import settle_runs
from passagework.hands.search import FORBIDDEN, Lattice, best_path, connect
from passagework.hands.slices import Slice, hand_slices
from passagework.hands.spans import all_shapes, reaches
from passagework.hands.terms import TERMS, Term
from passagework.score.piece import Piece, Side

OWN_PATTERN = 16
"""Layers with shapes of their own get flags from here on, so that no costs are shared with them."""


@dataclass(frozen=True, slots=True)
class Demand:
    """Fingers demanded of notes: the teacher's hold always, printed ones where the hand can."""

    fixed: Mapping[str, tuple[int, ...]]
    printed: bool


@dataclass(slots=True)
class Solved:
    """One hand, solved. `path` holds for every slice the place of its shape in the layer."""

    side: Side
    slices: list[Slice]
    lattice: Lattice
    costs: Costs
    path: list[int]
    refused: list[tuple[Slice, dict[int, tuple[int, ...]]]]
    """Slices whose printed fingers the hand cannot take, with those fingers by place."""

    def shape(self, place: int) -> tuple[int, ...]:
        """Fingers (1 to 5) that take the keys of slice `place`."""
        row = self.lattice.layers[place].arrive[self.path[place]]
        return tuple(int(f) + 1 for f in row)

    def left(self, place: int) -> tuple[int, ...]:
        """Fingers that leave the keys of slice `place`."""
        row = self.lattice.layers[place].leave[self.path[place]]
        return tuple(int(f) + 1 for f in row)


def solve_side(
    piece: Piece,
    side: Side,
    hand: Hand,
    demand: Demand,
    tempo: TempoMap,
    loudness: Callable[[Fraction], float],
    costs: Costs | None = None,
) -> Solved:
    """Finger one hand of `piece`."""
    slices = hand_slices(piece, side, tempo, loudness, lambda keys: reaches(keys, hand))
    solved = prepare(slices, side, hand, demand, costs or Costs(hand))
    settle_runs(solved.lattice, slices, solved.costs)
    draw_together(solved.lattice, slices)
    solved.path, _ = best_path(solved.lattice)
    return solved


def prepare(
    slices: list[Slice],
    side: Side,
    hand: Hand,
    demand: Demand,
    costs: Costs,
) -> Solved:
    """The lattice of `slices` with every demand laid on it, not yet solved."""
    layers: list[Layer] = []
    masks: list[NDArray[np.float64] | None] = []
    refused: list[tuple[Slice, dict[int, tuple[int, ...]]]] = []
    for number, slice_ in enumerate(slices):
        layer = costs.layer(slice_)
        wanted, firm = _wanted(slice_, demand)
        mask = None
        if wanted:
            meets = _meets(layer, wanted)
            if not meets.any():
                if firm or _only_substitution_missing(layer, wanted):
                    layer = _with_shapes(layer, wanted, hand, OWN_PATTERN + number)
                    meets = _meets(layer, wanted)
                else:
                    refused.append((slice_, wanted))
            if meets.any():
                mask = np.where(meets, 0.0, FORBIDDEN)
        layers.append(layer)
        masks.append(mask)
    lattice = connect(layers, slices, costs)
    for i, mask in enumerate(masks):
        extra = _ornaments(slices[i], layers[i], side)
        if extra is not None:
            lattice.own[i] = lattice.own[i] + costs.weights[Term.ORNAMENT] * extra
        if mask is not None:
            lattice.own[i] = lattice.own[i] + mask
    return Solved(side, slices, lattice, costs, [], refused)


def _wanted(slice_: Slice, demand: Demand) -> tuple[dict[int, tuple[int, ...]], bool]:
    """Fingers demanded by place, and whether the teacher demands any of them."""
    wanted: dict[int, tuple[int, ...]] = {}
    firm = False
    for place, (notes, struck) in enumerate(zip(slice_.notes, slice_.struck, strict=True)):
        if not struck:
            continue
        for note in notes:
            if note.id in demand.fixed:
                wanted[place] = demand.fixed[note.id]
                firm = True
                break
            if demand.printed and note.fingers:
                wanted[place] = note.fingers
    if firm and len(wanted) > 1:
        teachers = {
            p: f for p, f in wanted.items() if any(n.id in demand.fixed for n in slice_.notes[p])
        }
        printed = {p: f for p, f in wanted.items() if p not in teachers}
        wanted = {**printed, **teachers} if _monotone({**printed, **teachers}) else teachers
    return wanted, firm


def _monotone(wanted: Mapping[int, tuple[int, ...]]) -> bool:
    row = [wanted[p][0] for p in sorted(wanted)]
    return all(a < b for a, b in itertools.pairwise(row))


def _meets(layer: Layer, wanted: Mapping[int, tuple[int, ...]]) -> NDArray[np.bool_]:
    meets = np.ones(len(layer.arrive), dtype=bool)
    for place, fingers in wanted.items():
        meets &= layer.arrive[:, place] == fingers[0] - 1
        meets &= layer.leave[:, place] == fingers[-1] - 1
    return meets


def _only_substitution_missing(layer: Layer, wanted: Mapping[int, tuple[int, ...]]) -> bool:
    """Whether the hand could take the first fingers, and only the change on the key is not foreseen."""
    firsts = {p: f[:1] for p, f in wanted.items()}
    return any(len(f) > 1 for f in wanted.values()) and bool(_meets(layer, firsts).any())


def _with_shapes(
    layer: Layer, wanted: Mapping[int, tuple[int, ...]], hand: Hand, flags: int
) -> Layer:
    """The layer with shapes made for what is demanded; fingers crossed or doubled only if they must be."""
    rows = {tuple(int(f) for f in row) for row in layer.arrive}
    rows |= {tuple(f - 1 for f in s) for s in all_shapes(len(layer.keys), hand)}
    made = set()
    for row in rows:
        changed = tuple(wanted[p][0] - 1 if p in wanted else f for p, f in enumerate(row))
        made.add(changed)
    distinct = {r for r in made if len(set(r)) == len(r)}
    ordered = {r for r in distinct if list(r) == sorted(r)}
    arrive = np.array(sorted(ordered or distinct or made), dtype=np.intp)
    leave = arrive.copy()
    for place, fingers in wanted.items():
        leave[:, place] = fingers[-1] - 1
    terms = np.zeros((TERMS, len(arrive)))
    return replace(layer, arrive=arrive, leave=leave, terms=terms, flags=flags)


def _ornaments(slice_: Slice, layer: Layer, side: Side) -> NDArray[np.float64] | None:
    if not any(n.ornaments for row in slice_.notes for n in row):
        return None
    rows = [tuple(int(f) + 1 for f in row) for row in layer.leave]
    return np.array([ornament_cost(slice_, row, left=side == "left") for row in rows])
