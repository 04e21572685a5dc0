"""The one scale: a measured demand, compared with what the piece's level takes for granted."""

from __future__ import annotations

from math import exp, log

from passagework.spots.level import Level


def severity(demand: float, ordinary: float, hard: float) -> float:
    """Severity of `demand`, 0 to 1, on a logistic curve.

    `ordinary` is the demand at which nobody of the level would stop (severity 0.25), `hard` the one
    that must be practised on purpose (0.5); both in the unit of `demand`, and `hard` may be the
    smaller (time: less is harder). Equal steps of demand beyond `hard` bring 0.75 at the same
    distance and approach 1.
    """
    if ordinary == hard:
        raise ValueError("ordinary and hard must differ")
    steps = (demand - hard) / (hard - ordinary)
    return 1.0 / (1.0 + exp(-min(max(log(3.0) * steps, -40.0), 40.0)))


def severity_by_ratio(demand: float, ordinary: float, hard: float) -> float:
    """`severity` of a demand above 0 on a logarithmic scale: equal ratios make equal steps.

    For rates and counts, which are felt in ratios and have no upper end (Fechner, 1860). A demand of
    0 or less has severity 0; raises `ValueError` where a threshold is not above 0.
    """
    if ordinary <= 0 or hard <= 0:
        raise ValueError("thresholds must be above 0")
    if demand <= 0:
        return 0.0
    return severity(log(demand), log(ordinary), log(hard))


def by_level(level: Level, easy: float, advanced: float) -> float:
    """A threshold between its value for first-year pieces and for concert pieces, by the level."""
    return easy + (advanced - easy) * level.value
