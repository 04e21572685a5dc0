"""Slices become layers of a search: the shapes that fit each slice, and the costs between them.

Costs are kept as stacks of terms (`passagework.hands.terms.Term`), so that any path can be explained,
and are remembered by the pattern of keys, because music repeats its patterns.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from passagework.hands.hand import Hand
from passagework.hands.keyboard import is_black
from passagework.hands.slices import Slice
from passagework.hands.spans import Shape, all_shapes, shapes_for
from passagework.hands.terms import (
    STRETCHES,
    TERMS,
    Table,
    Term,
    block_terms,
    chord_terms,
    skip_terms,
    step_terms,
)
from passagework.hands.weights import Moment, factors, moment, weight_vector

SUBSTITUTION_SECONDS = 0.7
"""A finger is changed silently on a key only where the note lasts this long."""

SIZE_POWER = 2.0
"""How steeply a stretch counts more for a smaller hand: its share of the reach, squared."""

FULL_CHORD_HOP = 0.2
"""Chords of three and more move as a block; only double notes are bound finger by finger."""

LOOSE, SUBSTITUTES = 1, 2
"""Flags of a layer: any shape may be taken (rolled, or beyond the hand); fingers may be substituted."""


@dataclass(slots=True)
class Layer:
    """The shapes of one slice."""

    base: int
    """Multiple of 12 below the lowest key."""
    keys: tuple[int, ...]
    """Keys above `base`."""
    struck: tuple[bool, ...]
    flags: int
    arrive: NDArray[np.intp]
    """``(shapes, keys)``: the finger (0 is the thumb) that takes the key."""
    leave: NDArray[np.intp]
    """The finger that leaves it: another one after a substitution."""
    terms: Table
    """``(TERMS, shapes)``."""
    moment: Moment

    @property
    def pattern(self) -> tuple[tuple[int, ...], tuple[bool, ...], int]:
        """What makes two layers alike, whatever the octave."""
        return self.keys, self.struck, self.flags


class Costs:
    """Costs for one hand, remembered."""

    def __init__(self, hand: Hand, weights: NDArray[np.float64] | None = None) -> None:
        self.hand = hand
        self.weights = weight_vector()
        self._shapes: dict[object, tuple[NDArray[np.intp], NDArray[np.intp], Table]] = {}
        self._steps: dict[object, Table] = {}
        self._skips: dict[object, Table] = {}
        self._weighted: dict[Moment, NDArray[np.float64]] = {}
        self.weigh(weight_vector() if weights is None else weights)

    def weigh(self, weights: NDArray[np.float64]) -> None:
        """Take other weights; what is remembered of the terms stays good."""
        self.weights = weights.copy()
        self.weights[list(STRETCHES)] *= (1.0 / self.hand.scale) ** SIZE_POWER
        self.forget()

    def forget(self) -> None:
        """Weigh anew: to be called when `weights` was changed."""
        self._weighted.clear()

    def weighted(self, at: Moment) -> NDArray[np.float64]:
        """Weights at one moment."""
        found = self._weighted.get(at)
        if found is None:
            found = self._weighted[at] = self.weights * factors(at)
        return found

    def layer(self, slice_: Slice) -> Layer:
        """The layer of one slice."""
        base = slice_.keys[0] // 12 * 12
        keys = tuple(k - base for k in slice_.keys)
        flags = LOOSE if slice_.rolled or not shapes_for(keys, self.hand) else 0
        if len(keys) == 1 and slice_.longest >= SUBSTITUTION_SECONDS:
            flags |= SUBSTITUTES
        arrive, leave, terms = self._shapes_of(keys, slice_.struck, flags)
        at = moment(slice_.wait, slice_.gap, slice_.breath, slice_.loudness)
        return Layer(base, keys, slice_.struck, flags, arrive, leave, terms, at)

    def _shapes_of(
        self, keys: tuple[int, ...], struck: tuple[bool, ...], flags: int
    ) -> tuple[NDArray[np.intp], NDArray[np.intp], Table]:
        known = (keys, struck, flags)
        found = self._shapes.get(known)
        if found is None:
            shapes: Sequence[Shape] = (
                all_shapes(len(keys), self.hand) if flags & LOOSE else shapes_for(keys, self.hand)
            )
            pairs = [(s, s) for s in shapes]
            if flags & SUBSTITUTES:
                pairs += [(a, b) for a in shapes for b in shapes if a != b]
            arrive = np.array([a for a, _ in pairs], dtype=np.intp) - 1
            leave = np.array([b for _, b in pairs], dtype=np.intp) - 1
            found = self._shapes[known] = (arrive, leave, self._own_terms(keys, arrive, leave))
        return found

    def _own_terms(
        self, keys: tuple[int, ...], arrive: NDArray[np.intp], leave: NDArray[np.intp]
    ) -> Table:
        terms = np.zeros((TERMS, len(arrive)))
        count = len(keys)
        for a in range(count):
            black = is_black(keys[a])
            finger = arrive[:, a]
            terms[Term.WEAK] += (finger == 3) / count
            terms[Term.SPARED] += np.isin(finger + 1, list(self.hand.weak)) / count
            if black:
                terms[Term.THUMB_ON_BLACK] += finger == 0
                terms[Term.FIVE_ON_BLACK] += finger == 4
            for b in range(a + 1, count):
                table = chord_terms(keys[a] % 12, keys[b] - keys[a])
                terms += table[:, finger, arrive[:, b]] / (count - 1)
        terms[Term.SUBSTITUTION] += (arrive != leave).any(axis=1)
        return terms

    def step(self, one: Layer, two: Layer, sustained: tuple[tuple[int, int], ...]) -> Table:
        """Cost of every shape of `two` right after every shape of `one`; ``(shapes, shapes)``."""
        return _weigh(self.weighted(two.moment), self.step_stack(one, two, sustained))

    def step_stack(self, one: Layer, two: Layer, sustained: tuple[tuple[int, int], ...]) -> Table:
        """The same term by term, before any weight; ``(TERMS, shapes, shapes)``."""
        known = (one.pattern, two.pattern, two.base - one.base, sustained)
        terms = self._steps.get(known)
        if terms is None:
            terms = self._steps[known] = self._step_terms(one, two, sustained)
        return terms

    def _step_terms(self, one: Layer, two: Layer, sustained: tuple[tuple[int, int], ...]) -> Table:
        single = sum(one.struck) == 1 and sum(two.struck) == 1
        terms = _between(one, two, step_terms if single else block_terms)
        if sum(one.struck) > 2 or sum(two.struck) > 2:
            terms[Term.BLOCK_HOP] *= FULL_CHORD_HOP
        for a, b in sustained:
            terms[Term.SUBSTITUTION] += one.leave[:, a, None] != two.arrive[None, :, b]
        return terms

    def skip(self, one: Layer, three: Layer, at: Moment) -> Table:
        """Cost of every shape of `three` one attack after every shape of `one`."""
        return _weigh(self.weighted(at), self.skip_stack(one, three))

    def skip_stack(self, one: Layer, three: Layer) -> Table:
        """The same term by term, before any weight."""
        known = (one.pattern, three.pattern, three.base - one.base)
        terms = self._skips.get(known)
        if terms is None:
            terms = _between(one, three, skip_terms)
            if sum(one.struck) != 1 or sum(three.struck) != 1:
                keep = terms[Term.SKIP_CHANGE].copy()
                terms[:] = 0.0
                terms[Term.SKIP_CHANGE] = keep
            self._skips[known] = terms
        return terms

    def own(self, layer: Layer) -> NDArray[np.float64]:
        """Cost of every shape by itself."""
        return np.asarray(self.weighted(layer.moment) @ layer.terms)


def _weigh(weights: NDArray[np.float64], terms: Table) -> Table:
    return np.asarray(weights @ terms.reshape(TERMS, -1)).reshape(terms.shape[1:])


def _between(one: Layer, two: Layer, table: Callable[[int, int], Table]) -> Table:
    """Terms between the struck keys of two layers, shared out over their pairs."""
    terms = np.zeros((TERMS, len(one.arrive), len(two.arrive)))
    firsts = [i for i, s in enumerate(one.struck) if s]
    seconds = [i for i, s in enumerate(two.struck) if s]
    share = 1.0 / np.sqrt(len(firsts) * len(seconds))
    away = two.base - one.base
    for a in firsts:
        for b in seconds:
            cell = table(one.keys[a] % 12, two.keys[b] + away - one.keys[a])
            terms += share * cell[:, one.leave[:, a, None], two.arrive[None, :, b]]
    return terms
