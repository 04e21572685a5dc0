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


def by_level(level: Level, easy: float, advanced: float) -> float:
    """A threshold between its value for first-year pieces and for concert pieces, by the level."""
    return easy + (advanced - easy) * level.value
