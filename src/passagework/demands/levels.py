"""The teacher's own scale of levels, learned from the pieces that they have graded, and where other pieces stand on it.

Nothing is built in but a first guess at what each demand counts for (`passagework.demands.scale`). The graded pieces move these
weights and set the bounds between the levels (`passagework.demands.ordinal`). Every number that a placement comes from can be
shown: a score is a weighted mean of standings, and a reason is one of its terms.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import median
from typing import TYPE_CHECKING

from passagework.demands.labels import Order, order_labels
from passagework.demands.profile import Demands
from passagework.demands.scale import PARTS, standings

if TYPE_CHECKING:
    from passagework.demands.ordinal import Array, Fit

FEWEST_GRADED = 10
"""Graded pieces below which there is no level, only a rank: "about a dozen"."""

COVERED = 0.8
"""Share of pieces whose true level the interval is to hold."""

REASONS, NEIGHBOURS = 3, 3

SHARPNESS = (0.4, 0.5, 0.6, 0.7, 0.85, 1.0, 1.2, 1.5)
"""Powers that are tried on the chances of left-out pieces, so that they are as sure as they may be."""

DIGITS = 2


@dataclass(frozen=True, slots=True)
class GradedPiece:
    """A piece that the teacher has graded."""

    id: str
    level: str
    demands: Demands


@dataclass(frozen=True, slots=True)
class Reason:
    """A demand that pushes a piece up or down, against the middle of the graded pieces."""

    demand: str
    """Name of the descriptor."""
    value: float
    usual: float
    """The middle of the graded pieces; where nothing is graded, half-way from first-year to concert music."""
    points: float
    """By how many points of the score it pushes, together with others of its family: above 0 up."""
    bars: tuple[int, ...]
    """Indices of the bars that hold the most of it, where it stands in bars and pushes up."""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A graded piece that asks for much the same."""

    id: str
    level: str
    distance: float
    """Weighted root mean square of the differences of standing: 0 for the same demands, 1 from first-year to concert music."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where a piece stands on the teacher's scale."""

    level: str | None
    """None where too few pieces are graded."""
    low: str | None
    high: str | None
    """The levels between which `COVERED` of such pieces lie."""
    score: float
    """Orders pieces finer than levels: about 0 for first-year and 100 for concert music."""
    reasons: tuple[Reason, ...]
    neighbours: tuple[Neighbour, ...]


@dataclass(frozen=True)
class LevelScale:
    """A teacher's scale of levels; `learn_levels` makes it."""

    order: Order
    graded: tuple[GradedPiece, ...]
    weights: tuple[float, ...]
    """What each of `PARTS` counts for, together 1."""
    fit: Fit | None
    """None where pieces can only be ranked."""
    sharpness: float = 1.0
    left_out: Array | None = None
    """For each graded piece the chance of every level when it was left out; what the claims about errors come from."""
    strength: float = 0.0

    @property
    def ranks_only(self) -> bool:
        """Whether too few pieces are graded for levels."""
        return self.fit is None

    def place(self, demands: Demands, own_id: str | None = None) -> Placement:
        """Where a piece stands. `own_id` names the graded piece that it is itself, if any, which is no neighbour of its own.

        Raises `KeyError` where a descriptor of the profile is missing.
        """
        own = standings(demands.descriptors)
        score = 100.0 * sum(w * s for w, s in zip(self.weights, own, strict=True))
        low, level, high = self._levels(own)
        return Placement(
            level, low, high, round(score, DIGITS), self._reasons(own, demands), self._neighbours(own, own_id),
        )  # fmt: skip

    def _levels(self, own: Sequence[float]) -> tuple[str | None, str | None, str | None]:
        if self.fit is None:
            return None, None, None
        import numpy as np

        chances = self.fit.chances(self.fit.heights(np.array([own])))
        row = sharpened(chances, self.sharpness)[0]
        best = int(row.argmax())
        low, high = interval(row)
        names = self.order.levels
        return names[min(low, best)], names[best], names[max(high, best)]

    def _reasons(self, own: Sequence[float], demands: Demands) -> tuple[Reason, ...]:
        families: dict[str, list[tuple[float, Reason]]] = {}
        for at, part in enumerate(PARTS):
            values = [g.demands.descriptors[part.name] for g in self.graded]
            usual = median(values) if values else part.value_at(0.5)
            points = 100.0 * self.weights[at] * (own[at] - part.standing(usual))
            bars = demands.descriptor_bars.get(part.name, ()) if points > 0 else ()
            value = demands.descriptors[part.name]
            reason = Reason(part.name, value, round(usual, DIGITS), points, bars)
            families.setdefault(part.family, []).append((points, reason))
        rows: list[Reason] = []
        for members in families.values():
            total = sum(points for points, _ in members)
            sign = 1.0 if total >= 0 else -1.0
            first = max(members, key=lambda m: m[0] * sign)[1]
            rows.append(
                Reason(first.demand, first.value, first.usual, round(total, DIGITS), first.bars)
            )
        rows.sort(key=lambda r: (-abs(r.points), r.demand))
        return tuple(r for r in rows[:REASONS] if r.points)

    def _neighbours(self, own: Sequence[float], own_id: str | None) -> tuple[Neighbour, ...]:
        rows = [
            Neighbour(g.id, g.level, round(distance(own, standings(g.demands.descriptors), self.weights), 3))
            for g in self.graded
            if g.id != own_id
        ]  # fmt: skip
        return tuple(sorted(rows, key=lambda n: (n.distance, n.id))[:NEIGHBOURS])


def learn_levels(graded: Sequence[GradedPiece], order: Sequence[str] | None = None) -> LevelScale:
    """Learn a scale from graded pieces; with fewer than `FEWEST_GRADED`, or of one level only, it ranks and no more.

    `order` names the levels, easiest first, where their names do not say it (`passagework.demands.labels`); `ValueError` where a
    piece's level is not in it.
    """
    levels = order_labels((g.level for g in graded), order)
    given = tuple(part.weight for part in PARTS)
    if len(graded) < FEWEST_GRADED or len(levels.levels) < 2:
        return LevelScale(levels, tuple(graded), given, None)
    import numpy as np

    from passagework.demands import ordinal

    demands = np.array([standings(g.demands.descriptors) for g in graded])
    y = [levels.index(g.level) for g in graded]
    prior, count = np.array(given), len(levels.levels)
    strength, left_out = ordinal.choose_strength(demands, y, count, prior)
    fit = ordinal.fit(demands, y, count, prior, strength)
    total = float(fit.weights.sum())
    weights = tuple(float(w) / total for w in fit.weights) if total > 0 else given
    sharpness = _sharpness(left_out, y)
    return LevelScale(levels, tuple(graded), weights, fit, sharpness, left_out, strength)


def _sharpness(chances: Array, levels: Sequence[int]) -> float:
    """The power under which the chances of left-out pieces come out best."""
    import numpy as np

    at = np.arange(len(levels)), np.asarray(levels)
    return min(SHARPNESS, key=lambda s: -float(np.log(sharpened(chances, s)[at]).mean()))


def sharpened(chances: Array, power: float) -> Array:
    """Chances taken to a power, each row made to sum to 1 again."""
    import numpy as np

    raised = chances**power
    return np.asarray(raised / raised.sum(axis=1, keepdims=True), dtype=np.float64)


def interval(chances: Array) -> tuple[int, int]:
    """First and last level between which `COVERED` lies, as much left out below as above."""
    import numpy as np

    below = np.cumsum(chances)
    out = (1.0 - COVERED) / 2.0
    low = int(np.searchsorted(below, out, side="right"))
    high = int(np.searchsorted(below, 1.0 - out, side="left"))
    last = len(chances) - 1
    return min(low, last), min(high, last)


def distance(one: Sequence[float], other: Sequence[float], weights: Sequence[float]) -> float:
    """Weighted root mean square of the differences of two rows of standings; `weights` sum to 1."""
    return sqrt(sum(w * (a - b) ** 2 for w, a, b in zip(weights, one, other, strict=True)))


def ranked(placements: Mapping[str, Placement]) -> tuple[str, ...]:
    """Ids of pieces, easiest first."""
    return tuple(sorted(placements, key=lambda i: (placements[i].score, i)))
