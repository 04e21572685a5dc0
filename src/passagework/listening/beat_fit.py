"""A smooth curve through attacks: the beat as a tempo that wanders slowly.

The model is the usual one of tempo tracking (Cemgil, Kappen, Desain and Honing, 2000): the beat's period takes a random
step from each half beat to the next, and an attack is the beat with some error. Its best curve is the least-squares one with
a penalty on second differences, found here for the whole pass at once in linear time. Both errors are taken
to have long tails (Cauchy weights, refitted a few times), so that a single late stroke does not bend the beat, and a
sudden new tempo does not drag behind.
"""

from __future__ import annotations

from collections.abc import Sequence

STROKE_ERROR = 0.02
"""Seconds by which an attack differs from the beat: between the 10 ms of concert pianists (Repp, 1999) and
the 30 to 40 ms of beginners."""

TEMPO_STEP = 0.04
"""Share by which the period changes from one half beat to the next in ordinary playing; about the median
over concert performances with rubato (measured on romantic and classical movements)."""

TAIL = 2.0
"""Errors of so many times the usual size count half."""

ROUNDS = 6
"""Refits with new weights; the curve has settled by then."""


def fit_curve(
    places: Sequence[float],
    times: Sequence[float],
    weights: Sequence[float],
    knots: int,
    period: Sequence[float],
) -> list[float]:
    """Seconds at the knots 0, 1 ... `knots` - 1.

    `places` are the attacks' positions in knots (0 to `knots` - 1), increasing; `times` in seconds; `weights` 0 to 1;
    `period` the rough seconds from each knot to the next, which set how much a period may change.
    """  # fmt: skip
    cells = [min(int(p), knots - 2) for p in places]
    shares = [p - c for p, c in zip(places, cells, strict=True)]
    stroke = [w / STROKE_ERROR**2 for w in weights]
    step = [
        1.0 / (TEMPO_STEP * max(period[min(k, len(period) - 1)], 0.05)) ** 2 for k in range(knots)
    ]
    strengths, stiffness = list(stroke), list(step)
    curve: list[float] = []
    for _ in range(ROUNDS):
        curve = _solve(cells, shares, times, strengths, stiffness, knots)
        for i, (cell, share) in enumerate(zip(cells, shares, strict=True)):
            off = times[i] - (curve[cell] * (1 - share) + curve[cell + 1] * share)
            strengths[i] = stroke[i] / (1.0 + off * off / (TAIL * STROKE_ERROR) ** 2)
        for k in range(1, knots - 1):
            bend = curve[k - 1] - 2 * curve[k] + curve[k + 1]
            stiffness[k] = step[k] / (1.0 + bend * bend * step[k] / TAIL**2)
    return curve


def _solve(
    cells: Sequence[int],
    shares: Sequence[float],
    times: Sequence[float],
    strengths: Sequence[float],
    stiffness: Sequence[float],
    knots: int,
) -> list[float]:
    """Solve the normal equations: a symmetric matrix with two bands beside the diagonal."""
    main, first, second = [1e-9] * knots, [0.0] * knots, [0.0] * knots
    right = [0.0] * knots
    for cell, share, time, strength in zip(cells, shares, times, strengths, strict=True):
        rest = 1.0 - share
        main[cell] += strength * rest * rest
        main[cell + 1] += strength * share * share
        first[cell] += strength * rest * share
        right[cell] += strength * rest * time
        right[cell + 1] += strength * share * time
    for k in range(1, knots - 1):
        s = stiffness[k]
        main[k - 1] += s
        main[k] += 4 * s
        main[k + 1] += s
        first[k - 1] -= 2 * s
        first[k] -= 2 * s
        second[k - 1] += s
    return _banded(main, first, second, right)


def _banded(
    main: list[float], first: list[float], second: list[float], right: list[float]
) -> list[float]:
    """Solve by elimination without pivoting (the matrix is positive definite); the lists are used up."""
    size = len(main)
    for k in range(size):
        if k + 1 < size:
            ratio = first[k] / main[k]
            main[k + 1] -= ratio * first[k]
            right[k + 1] -= ratio * right[k]
            if k + 2 < size:
                first[k + 1] -= ratio * second[k]
                far = second[k] / main[k]
                main[k + 2] -= far * second[k]
                right[k + 2] -= far * right[k]
    result = [0.0] * size
    for k in range(size - 1, -1, -1):
        value = right[k]
        if k + 1 < size:
            value -= first[k] * result[k + 1]
        if k + 2 < size:
            value -= second[k] * result[k + 2]
        result[k] = value / main[k]
    return result
