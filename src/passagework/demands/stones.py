"""Stepping stones: which pieces, in which order, lead up to a piece; what is like a piece; what a piece teaches."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

from passagework.demands.levels import distance
from passagework.demands.profile import Demands, KindDemand
from passagework.demands.scale import PARTS, standings

STEP = 0.12
"""A step of hardness that a student takes with one piece: about a year of lessons runs through three of them. Our judgement; the
teacher's word about a student replaces it."""

FAINT = 0.2
"""Hardness below which a demand teaches nothing to speak of."""

DIGITS = 3


@dataclass(frozen=True, slots=True)
class LibraryPiece:
    """A piece of the library, measured for the student's hand."""

    id: str
    title: str
    demands: Demands


@dataclass(frozen=True, slots=True)
class Brought:
    """What a stone brings of one kind."""

    kind: str
    before: float
    """Hardness that was secure."""
    after: float
    """Hardness that the piece asks for."""
    bars: tuple[int, ...]
    """Indices of the bars of the stone that hold the hardest of it, hardest first."""
    wanted: bool
    """Whether the goal, or a later stone, is within one step because of it."""


@dataclass(frozen=True, slots=True)
class Stone:
    """One piece on the way."""

    id: str
    title: str
    brings: tuple[Brought, ...]
    """Everything in it that is new, what is wanted first, the most first."""

    @property
    def new(self) -> float:
        """How much is new at once, over all kinds."""
        return sum(b.after - b.before for b in self.brings)


@dataclass(frozen=True, slots=True)
class Missing:
    """A demand of the goal that is more than one step beyond what is secure."""

    kind: str
    secure: float
    asked: float


@dataclass(frozen=True, slots=True)
class Path:
    """The way to a piece."""

    stones: tuple[Stone, ...]
    missing: tuple[Missing, ...]
    """What the goal asks beyond one step at the start, the most first; empty where it may be begun at once."""
    left: tuple[Missing, ...]
    """What is still beyond one step after the last stone: the library has nothing that leads there."""
    fewest: int
    """It is proved that no way through this library has fewer pieces than this; 0 where none leads there."""
    least_new: bool
    """Whether it is proved that no way with as few pieces brings less that is new at once."""
    unmeasured: tuple[str, ...] = ()
    """Kinds of the goal that were not measured for every piece of the library and are not looked at."""

    @property
    def reaches(self) -> bool:
        """Whether the goal may be begun after the last stone."""
        return not self.left

    @property
    def gap(self) -> int:
        """By how many pieces the way may be longer than need be: 0 where it is proved to be shortest."""
        return len(self.stones) - self.fewest if self.reaches else 0


def missing_demands(
    target: Demands, secure: Mapping[str, float], step: float = STEP
) -> tuple[Missing, ...]:
    """The demands of a piece that are more than one step beyond what is secure, the farthest first. A kind that `secure` does not
    name is not secure at all.
    """
    rows = [
        Missing(k.kind, secure.get(k.kind, 0.0), k.hardest)
        for k in target.kinds.values()
        if k.hardest > secure.get(k.kind, 0.0) + step
    ]
    return tuple(sorted(rows, key=lambda m: (m.secure - m.asked, m.kind)))


def stepping_stones(
    target: Demands,
    secure: Mapping[str, float],
    library: Sequence[LibraryPiece],
    step: float = STEP,
) -> Path:
    """The pieces of `library` that lead from what is `secure` (hardness by kind) up to `target`.

    In every piece each demand is within one `step` of what is secure by then; after the last one each demand of the target is. There
    are as few pieces as may be, and of such ways the one that brings the least that is new at once
    (`passagework.demands.stone_search`). Raises `ValueError` for a step of 0 or less.
    """
    if step <= 0:
        raise ValueError("a step must be more than 0")
    missing = missing_demands(target, secure, step)
    kinds = [k for k in target.kinds if all(k in p.demands.kinds for p in library)]
    unmeasured = tuple(k for k in target.kinds if k not in kinds)
    wanted = [m for m in missing if m.kind in kinds]
    if not wanted or not library:
        return Path((), missing, missing if not library else tuple(m for m in missing if m.kind in kinds), 0, True, unmeasured)  # fmt: skip
    import numpy as np

    from passagework.demands.stone_search import search

    pieces = np.array([[p.demands.kinds[k].hardest for k in kinds] for p in library])
    goal = np.array([target.kinds[k].hardest for k in kinds])
    start = np.array([float(secure.get(k, 0.0)) for k in kinds])
    found = search(pieces, goal, start, step)
    chosen = [library[i] for i in found.order]
    state = dict(zip(kinds, start.tolist(), strict=True))
    stones: list[Stone] = []
    for at, piece in enumerate(chosen):
        ahead = [target.kinds, *(p.demands.kinds for p in chosen[at + 1 :])]
        stones.append(_stone(piece, state, ahead, step))
        for kind in kinds:
            state[kind] = max(state[kind], piece.demands.kinds[kind].hardest)
    left = tuple(m for m in missing_demands(target, state, step) if m.kind in kinds)
    return Path(tuple(stones), missing, left, found.fewest, found.least_new, unmeasured)


def _stone(
    piece: LibraryPiece,
    state: Mapping[str, float],
    ahead: Sequence[Mapping[str, KindDemand]],
    step: float,
) -> Stone:
    rows: list[Brought] = []
    for kind, before in state.items():
        own = piece.demands.kinds[kind]
        if own.hardest > before:
            wanted = any(later[kind].hardest > before + step for later in ahead)
            rows.append(Brought(kind, round(before, DIGITS), own.hardest, own.bars, wanted))
    rows.sort(key=lambda b: (not b.wanted, b.before - b.after, b.kind))
    return Stone(piece.id, piece.title, tuple(rows))


@dataclass(frozen=True, slots=True)
class Alike:
    """A piece that asks for much the same."""

    id: str
    title: str
    distance: float
    """0 for the same demands; about 1 from first-year to concert music."""
    shared: tuple[str, ...]
    """Kinds that both ask for the most, at most three."""


def alike(target: Demands, library: Sequence[LibraryPiece], most: int = 5) -> tuple[Alike, ...]:
    """The pieces of the library that are most like `target`, nearest first.

    The distance is the root mean square of two: of the hardness of the kinds that both were measured for, and of the standings
    that the level is made of (`passagework.demands.scale`).
    """
    own = standings(target.descriptors)
    weights = [part.weight for part in PARTS]
    rows: list[Alike] = []
    for piece in library:
        kinds = [k for k in target.kinds if k in piece.demands.kinds]
        pairs = [(target.kinds[k].hardest, piece.demands.kinds[k].hardest) for k in kinds]
        of_kinds = sum((a - b) ** 2 for a, b in pairs) / len(pairs) if pairs else 0.0
        of_level = distance(own, standings(piece.demands.descriptors), weights) ** 2
        both = sorted(zip(kinds, pairs, strict=True), key=lambda row: (-min(row[1]), row[0]))
        shared = tuple(k for k, pair in both[:3] if min(pair) >= FAINT)
        rows.append(
            Alike(piece.id, piece.title, round(sqrt((of_kinds + of_level) / 2), DIGITS), shared)
        )
    return tuple(sorted(rows, key=lambda a: (a.distance, a.id))[:most])


@dataclass(frozen=True, slots=True)
class Taught:
    """A kind of difficulty that a piece is good for."""

    kind: str
    worth: float
    hardest: float
    bars: tuple[int, ...]


def teaches(demands: Demands, most: int = 4) -> tuple[Taught, ...]:
    """What a piece teaches: the kinds that it asks for most and longest, the worthiest first.

    Worth is the mean of the hardest and the typical hardness, times the square root of the share of the bars that hold it: what is
    hard in one bar is met once, what is moderately hard on every page is learned. Our judgement.
    """
    rows = [
        Taught(
            k.kind, round((k.hardest + k.typical) / 2 * sqrt(k.share), DIGITS), k.hardest, k.bars
        )
        for k in demands.kinds.values()
        if k.hardest >= FAINT
    ]
    return tuple(sorted(rows, key=lambda t: (-t.worth, t.kind))[:most])
