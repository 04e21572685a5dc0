"""A small ordinal model: ordered levels from a weighted sum of demands, the weights drawn towards given ones.

Proportional odds (McCullagh, 1980): a piece with demands z stands at or below level k with probability
1 / (1 + exp(z b - t_k)), with weights b >= 0 and rising bounds t. What is minimised is the negative logarithm of the likelihood plus

    strength / 2 * (sum b_j^2 / w_j - (sum b_j)^2)  +  (sum b_j)^2 / (2 * STEEPEST^2)

where w are the given weights (positive, sum 1). The first term is 0 when b is a multiple of w and charges what departs from it: a
dozen pieces hardly move the weights, a hundred do. The second keeps the bounds from growing without end where levels do not overlap.
No weight is negative, so that more of a demand is never an easier piece. The problem is convex; it is solved by Newton's method on
the weights that are not at 0.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEEPEST = 60.0
"""Spread of the sum of the weights that is thought of as usual: a piece that asks for concert demands in everything stands so many
units of the logistic curve above one that asks for first-year demands, at the most by this order of magnitude."""

STRENGTHS = (0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0)
"""Strengths that are tried (`choose_strength`), from weights that the graded pieces set to weights that hardly move."""

FOLDS = 10
"""Parts into which the graded pieces are divided to try them."""

MOST_STEPS, ENOUGH = 60, 1e-7
SMALLEST = 1e-12


@dataclass(frozen=True)
class Fit:
    """Weights of the demands and bounds between neighbouring levels."""

    weights: Array
    """One for each demand, 0 or more."""
    bounds: Array
    """One fewer than levels, rising."""

    def heights(self, demands: Array) -> Array:
        """Where pieces (rows of `demands`) stand on the line that the bounds divide."""
        return np.asarray(demands @ self.weights, dtype=np.float64)

    def chances(self, heights: Array) -> Array:
        """For each height the chance of every level; rows sum to 1."""
        below = _sigmoid(self.bounds[None, :] - heights[:, None])
        padded = np.hstack([np.zeros((len(heights), 1)), below, np.ones((len(heights), 1))])
        return np.maximum(np.diff(padded, axis=1), SMALLEST)


def fit(demands: Array, levels: Sequence[int], count: int, given: Array, strength: float) -> Fit:
    """Fit the model to graded pieces.

    `demands` has a row for each piece, `levels` are 0 to `count` - 1 with every one of them present, `given` are positive weights
    that sum to 1. Raises `ValueError` where one of this does not hold.
    """
    y = np.asarray(levels, dtype=np.intp)
    if count < 2 or set(y.tolist()) != set(range(count)):
        raise ValueError("every level must have a piece, and there must be two levels or more")
    if (given <= 0).any() or demands.shape != (len(y), len(given)):
        raise ValueError(
            "there must be a positive weight for every demand, and a row for every piece"
        )
    problem = _Problem(demands, y, count, given, strength)
    return problem.solve()


def choose_strength(
    demands: Array, levels: Sequence[int], count: int, given: Array
) -> tuple[float, Array]:
    """The strength under which pieces that were left out are placed best, and the heights they were given then.

    The heights are relative to the bounds of the fit that they were left out of: the chance of each level, one row for a piece.
    """
    best: tuple[float, float, Array] | None = None
    for strength in STRENGTHS:
        chances = left_out(demands, levels, count, given, strength)
        loss = -float(np.log(chances[np.arange(len(levels)), np.asarray(levels)]).mean())
        if best is None or loss < best[0]:
            best = loss, strength, chances
    assert best is not None
    return best[1], best[2]


def left_out(
    demands: Array, levels: Sequence[int], count: int, given: Array, strength: float
) -> Array:
    """The chances of every level for each piece, from a fit to the parts that it does not belong to."""
    y = np.asarray(levels, dtype=np.intp)
    part = _parts(y)
    chances = np.full((len(y), count), 1.0 / count)
    for one in range(int(part.max()) + 1):
        out = part == one
        known = sorted(set(y[~out].tolist()))
        if len(known) < 2:
            continue
        inside = [known.index(v) for v in y[~out].tolist()]
        found = fit(demands[~out], inside, len(known), given, strength)
        rows = found.chances(found.heights(demands[out]))
        full = np.full((int(out.sum()), count), SMALLEST)
        full[:, known] = rows
        chances[out] = full
    return chances


def _parts(levels: NDArray[np.intp]) -> NDArray[np.intp]:
    """A part for each piece, so that every level is spread over the parts; the same for the same levels."""
    order = np.argsort(levels, kind="stable")
    part = np.empty(len(levels), dtype=np.intp)
    part[order] = np.arange(len(levels)) % min(FOLDS, len(levels))
    return part


class _Problem:
    """One fit: parameters are the weights, then the bounds."""

    def __init__(
        self, demands: Array, levels: NDArray[np.intp], count: int, given: Array, strength: float
    ) -> None:
        self.z, self.y, self.bounds = demands, levels, count - 1
        self.m = len(given)
        self.charge = strength * (np.diag(1.0 / given) - 1.0) + 1.0 / STEEPEST**2
        self.given = given

    def solve(self) -> Fit:
        x = self._start()
        value, slope, curve = self._look(x)
        for _ in range(MOST_STEPS):
            free = np.ones(len(x), dtype=bool)
            free[: self.m] = (x[: self.m] > 0) | (slope[: self.m] < 0)
            step = np.zeros(len(x))
            step[free] = -np.linalg.solve(
                curve[np.ix_(free, free)] + 1e-9 * np.eye(int(free.sum())), slope[free]
            )
            length = 1.0
            while True:
                trial = x + length * step
                trial[: self.m] = np.maximum(trial[: self.m], 0.0)
                new = self._look(trial)
                if new[0] <= value + 1e-4 * float(slope @ (trial - x)) or length < 1e-6:
                    break
                length /= 2.0
            done = value - new[0] < ENOUGH * (1.0 + abs(value))
            if new[0] <= value:
                x, (value, slope, curve) = trial, new
            if done:
                break
        return Fit(x[: self.m], np.asarray(x[self.m :]))

    def _start(self) -> Array:
        """The given weights, and bounds where as many pieces lie below as should."""
        weights = self.given * 10.0
        heights = np.sort(self.z @ weights)
        below = np.cumsum(np.bincount(self.y, minlength=self.bounds + 1))[:-1]
        bounds = (heights[below - 1] + heights[np.minimum(below, len(heights) - 1)]) / 2.0
        bounds += 1e-3 * np.arange(self.bounds)
        return np.concatenate([weights, np.maximum.accumulate(bounds)])

    def _look(self, x: Array) -> tuple[float, Array, Array]:
        """Value, slope and curvature at `x`; infinite where the bounds do not rise."""
        b, t = x[: self.m], x[self.m :]
        k, n = self.bounds, len(self.y)
        if (np.diff(t) <= 0).any():
            return np.inf, np.zeros(len(x)), np.eye(len(x))
        height = self.z @ b
        upper, lower = self.y < k, self.y > 0
        high = np.where(upper, t[np.minimum(self.y, k - 1)] - height, np.inf)
        low = np.where(lower, t[np.maximum(self.y - 1, 0)] - height, -np.inf)
        fh, fl = _sigmoid(high), _sigmoid(low)
        chance = np.maximum(fh - fl, SMALLEST)
        dh, dl = fh * (1 - fh), fl * (1 - fl)
        # derivatives of log(F(high) - F(low)) by high and by low
        gh, gl = dh / chance, -dl / chance
        hhh = dh * (1 - 2 * fh) / chance - gh**2
        hll = -dl * (1 - 2 * fl) / chance - gl**2
        hhl = -gh * gl
        rows_h, rows_l = np.zeros((n, len(x))), np.zeros((n, len(x)))
        rows_h[:, : self.m] = rows_l[:, : self.m] = -self.z
        at = np.arange(n)
        rows_h[at[upper], self.m + self.y[upper]] = 1.0
        rows_l[at[lower], self.m + self.y[lower] - 1] = 1.0
        charged = self.charge @ b
        value = -float(np.log(chance).sum()) + 0.5 * float(b @ charged)
        slope = -(rows_h.T @ gh + rows_l.T @ gl)
        slope[: self.m] += charged
        cross = rows_h.T @ (rows_l * hhl[:, None])
        curve = -(
            rows_h.T @ (rows_h * hhh[:, None])
            + rows_l.T @ (rows_l * hll[:, None])
            + cross
            + cross.T
        )
        curve[: self.m, : self.m] += self.charge
        return value, slope, curve


def _sigmoid(x: Array) -> Array:
    return np.asarray(0.5 * (1.0 + np.tanh(0.5 * x)), dtype=np.float64)
