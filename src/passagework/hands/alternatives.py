"""Other fingerings of a passage: the best that really differ, and what each of them buys."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.hands.fingering import fixed_fingers, read_fingers
from passagework.hands.hand import Hands
from passagework.hands.loudness import marked_loudness
from passagework.hands.measures import Measures, measure
from passagework.hands.search import (
    FORBIDDEN,
    Lattice,
    best_path,
    connect,
    path_cost,
    path_terms,
    sweep,
)
from passagework.hands.slices import Slice
from passagework.hands.solve import Demand, Solved, solve_side
from passagework.hands.terms import STRETCHES, Term
from passagework.hands.words import in_words
from passagework.score.piece import Piece, Side

LEAST_DIFFERENT = 0.2
"""Share of the notes that must have another finger for a fingering to be another one."""

CONTEXT = 6
"""Attacks before and after the passage that take part in its choice."""

TRIES = 30
"""Shapes that are forced at most, one at a time."""

PRICES = (0.15, 0.3, 0.6, 1.2, 2.4)
"""Costs laid on what was chosen before, to find what is best away from it."""

LEANINGS: tuple[tuple[tuple[Term, ...], float], ...] = (
    ((Term.PASS, Term.HOP, Term.JUMP, Term.CROSS), 3.0),
    (STRETCHES, 3.0),
    ((Term.THUMB_BLACK, Term.THUMB_ON_BLACK, Term.PASS_ONTO_BLACK), 3.0),
    ((Term.WEAK, Term.THREE_FOUR, Term.FOUR_FIVE, Term.CHORD_WEAK), 4.0),
)
"""Wishes a teacher may have, as weights raised: fewer moves, less stretch, thumb off black, strong fingers."""


@dataclass(frozen=True)
class Alternative:
    """One fingering of a passage."""

    fingers: Mapping[str, tuple[int, ...]]
    cost: float
    """Total cost in the units of the weights; only differences mean anything."""
    measures: Measures
    buys: tuple[str, ...]
    """What it has over the first one, in words; for the first, what it has over the second."""
    costs: tuple[tuple[str, float], ...]
    """Costs by kind in words, the dearest first."""


def alternatives(
    piece: Piece,
    hands: Hands,
    side: Side,
    first_id: str,
    last_id: str,
    k: int = 3,
    *,
    fixed: Mapping[str, int | Sequence[int]] | None = None,
    respect_printed: bool = False,
    loudness: Callable[[Fraction], float] | None = None,
    tempo: TempoMap | None = None,
) -> tuple[Alternative, ...]:
    """At most `k` fingerings of the notes of one hand from `first_id` to `last_id`, the best first.

    The first is the one that `finger_piece` gives with the same arguments. There are fewer than `k`
    where no others differ in a fifth of the notes. Raises `ValueError` if a note is not in that hand.
    """
    demand = Demand(fixed_fingers(piece, fixed or {}), respect_printed)
    solved = solve_side(
        piece, side, hands.of(side), demand, tempo or tempo_map(piece), loudness or marked_loudness(piece)
    )  # fmt: skip
    first, last = sorted((_place(solved, first_id), _place(solved, last_id)))
    passage = _Passage(solved, first, last)
    chosen = passage.choose(k)
    return passage.describe(chosen)


def _place(solved: Solved, note_id: str) -> int:
    for i, slice_ in enumerate(solved.slices):
        for row, struck in zip(slice_.notes, slice_.struck, strict=True):
            if struck and any(note_id in n.ids for n in row):
                return i
    raise ValueError(f"the {solved.side} hand does not strike a note {note_id!r}")


class _Passage:
    """A stretch of one solved hand, cut out with some context."""

    def __init__(self, solved: Solved, first: int, last: int) -> None:
        low = max(0, first - CONTEXT)
        high = min(len(solved.slices), last + 1 + CONTEXT)
        lattice = solved.lattice
        self.slices: list[Slice] = solved.slices[low:high]
        self.lattice = Lattice(
            lattice.layers[low:high],
            lattice.own[low:high],
            lattice.steps[low : max(low, high - 1)],
            lattice.skips[low : max(low, high - 2)],
        )
        self.solved = solved
        self.inside = range(first - low, last + 1 - low)
        self.best = solved.path[low:high]

    def choose(self, k: int) -> list[list[int]]:
        """The best path and up to `k` - 1 others, each differing from all before it."""
        chosen = [self.best]
        pool = [*self._leaning(), *self._forced()]
        while len(chosen) < k:
            pool += self._away_from(chosen)
            pool = [p for p in pool if all(self._differs(p, other) for other in chosen)]
            if not pool:
                break
            chosen.append(min(pool, key=lambda p: path_cost(self.lattice, p)))
        return chosen

    def _forced(self) -> Iterator[list[int]]:
        """The best paths through single shapes that the best path does not take."""
        through = sweep(self.lattice)
        forced = sorted(
            (float(through[i][s]), i, s)
            for i in self.inside
            for s in range(len(through[i]))
            if s != self.best[i] and through[i][s] < FORBIDDEN
        )
        for _, i, s in forced[:TRIES]:
            mask = np.full(len(through[i]), FORBIDDEN)
            mask[s] = 0.0
            yield self._solve({i: mask})

    def _away_from(self, chosen: Sequence[Sequence[int]]) -> Iterator[list[int]]:
        """The best paths when every shape that was chosen before costs something more."""
        for price in PRICES:
            extra = {}
            for i in self.inside:
                row = np.zeros(len(self.lattice.own[i]))
                for path in chosen:
                    row[path[i]] = price
                extra[i] = row
            yield self._solve(extra)

    def _solve(self, extra: Mapping[int, NDArray[np.float64]]) -> list[int]:
        own = [o + extra[i] if i in extra else o for i, o in enumerate(self.lattice.own)]
        lattice = self.lattice
        return best_path(Lattice(lattice.layers, own, lattice.steps, lattice.skips))[0]

    def _leaning(self) -> Iterator[list[int]]:
        costs = self.solved.costs
        usual = costs.weights.copy()
        plain = connect(self.lattice.layers, self.slices, costs)
        laid = [own - bare for own, bare in zip(self.lattice.own, plain.own, strict=True)]
        try:
            for terms, factor in LEANINGS:
                costs.weights = usual.copy()
                costs.weights[list(terms)] *= factor
                costs.forget()
                leaning = connect(self.lattice.layers, self.slices, costs)
                leaning.own = [a + b for a, b in zip(leaning.own, laid, strict=True)]
                yield best_path(leaning)[0]
        finally:
            costs.weights = usual
            costs.forget()

    def _rows(self, path: Sequence[int]) -> list[tuple[int, ...]]:
        return [
            tuple(
                int(f)
                for f, struck in zip(
                    self.lattice.layers[i].arrive[path[i]], self.slices[i].struck, strict=True
                )
                if struck
            )
            for i in self.inside
        ]

    def _differs(self, one: Sequence[int], other: Sequence[int]) -> bool:
        pairs = [
            (a, b)
            for x, y in zip(self._rows(one), self._rows(other), strict=True)
            for a, b in zip(x, y, strict=True)
        ]
        changed = sum(a != b for a, b in pairs)
        return changed >= max(min(2, len(pairs)), LEAST_DIFFERENT * len(pairs))

    def describe(self, chosen: Sequence[Sequence[int]]) -> tuple[Alternative, ...]:
        measured = [self._measure(p) for p in chosen]
        found = []
        for place, path in enumerate(chosen):
            other = measured[0] if place else measured[min(1, len(measured) - 1)]
            own = Solved(
                self.solved.side, self.slices, self.lattice, self.solved.costs, list(path), []
            )
            inside = {n.id for i in self.inside for row, struck in
                      zip(self.slices[i].notes, self.slices[i].struck, strict=True)
                      if struck for n in row}  # fmt: skip
            fingers = {i: f for i, f in read_fingers(own).items() if i in inside}
            amounts = self.solved.costs.weights * path_terms(
                self.lattice, self.slices, self.solved.costs, path
            )
            found.append(
                Alternative(
                    fingers,
                    round(path_cost(self.lattice, path), 3),
                    measured[place],
                    _gains(measured[place], other),
                    in_words([float(a) for a in amounts]),
                )
            )
        return tuple(found)

    def _measure(self, path: Sequence[int]) -> Measures:
        low, high = self.inside.start, self.inside.stop
        part = Lattice(self.lattice.layers[low:high], self.lattice.own[low:high], [], [])
        return measure(self.slices[low:high], part, path[low:high])


def _gains(one: Measures, other: Measures) -> tuple[str, ...]:
    """What `one` has over `other`."""
    gains = []
    for amount, single, many in (
        (other.passings - one.passings, "one thumb passing fewer", "{} thumb passings fewer"),
        (other.hops - one.hops, "one finger need not go from key to key", "{} fingers need not go from key to key"),
        (other.thumbs_on_black - one.thumbs_on_black, "keeps the thumb off a black key",
         "keeps the thumb off {} black keys"),
        (other.fourths - one.fourths, "one note fewer for the fourth finger",
         "{} notes fewer for the fourth finger"),
    ):  # fmt: skip
        if amount > 0:
            gains.append(single if amount == 1 else many.format(amount))
    smaller = other.stretch_mm - one.stretch_mm
    if smaller >= 1.0:
        gains.append(f"the widest stretch is {smaller:.0f} mm smaller")
    elif other.total_stretch_mm - one.total_stretch_mm >= 5.0:
        gains.append("less stretch in all")
    if other.passings + other.hops > one.passings + one.hops:
        gains.append("evener when it is soft and fast")
    return tuple(gains)
