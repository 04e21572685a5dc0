"""From a piece and a hand to the demand profile."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from statistics import median

from passagework.demands.descriptors import measure_descriptors
from passagework.demands.grid import Grid, lay_out
from passagework.demands.profile import PROFILE_VERSION, Demands, KindDemand
from passagework.demands.reference import reference_candidates
from passagework.demands.sustained import NAMED_BARS
from passagework.spots.context import Context
from passagework.spots.spot import Candidate

SPREAD = 0.6
"""Power to which the odds of a severity are taken. On the scale of one student nearly all of first-year music lies below 0.1 and
nearly all of concert music above 0.8; with it a step from *ordinary* to *hard* is about as long at either end as in the middle."""

DIGITS = 4
"""Decimals that are kept: finer differences are noise of the seconds."""


def measure_demands(
    context: Context,
    candidates: Mapping[str, tuple[Candidate, ...]] | None = None,
    *,
    dear: bool = True,
) -> Demands:
    """The demand profile of the piece of `context` for its hand.

    `candidates` are those of `passagework.demands.reference.reference_candidates`, where they are at hand; those that spots are
    made of are relative to the level of their piece and of no use here. Without `dear` the kinds are left out whose analysis
    takes longer than everything else (`passagework.demands.reference.DEAR`); the descriptors, and so the level, are the same.
    """
    grid = lay_out(context)
    found = reference_candidates(grid, dear=dear) if candidates is None else candidates
    measured = measure_descriptors(grid)
    return Demands(
        PROFILE_VERSION,
        context.hand.reach_cm,
        {name: _kind(name, rows, grid) for name, rows in found.items()},
        {name: round(m.value, DIGITS) for name, m in measured.items()},
        {name: m.bars for name, m in measured.items() if m.bars},
    )


def measure_for_level(context: Context) -> Demands:
    """A profile with no more in it than a level is made of: no kinds, and of the descriptors the rising ones. Several times as fast."""
    measured = measure_descriptors(lay_out(context), rising_only=True)
    return Demands(
        PROFILE_VERSION,
        context.hand.reach_cm,
        {},
        {name: round(m.value, DIGITS) for name, m in measured.items()},
        {name: m.bars for name, m in measured.items() if m.bars},
    )


def hardness(severity: float) -> float:
    """A severity at the reference level as a hardness, 0 to 1: 0.5 stays, the ends are spread (`SPREAD`)."""
    if severity <= 0.0 or severity >= 1.0:
        return min(max(severity, 0.0), 1.0)
    odds = (severity / (1.0 - severity)) ** SPREAD
    return float(odds / (1.0 + odds))


def _kind(name: str, rows: Sequence[Candidate], grid: Grid) -> KindDemand:
    if not rows:
        return KindDemand(name, 0.0, 0.0, 0.0, 0.0, ())
    bars: set[int] = set()
    for row in rows:
        bars.update(range(row.first_bar, row.last_bar + 1))
    hardest = sorted(rows, key=lambda c: (-c.severity, c.first_bar))
    named = tuple(dict.fromkeys(c.first_bar for c in hardest))[:NAMED_BARS]
    minutes = grid.context.seconds(grid.context.piece.end) / 60.0
    return KindDemand(
        name,
        round(hardness(hardest[0].severity), DIGITS),
        round(hardness(median(c.severity for c in rows)), DIGITS),
        round(len(bars) / max(grid.bars, 1), DIGITS),
        round(len(rows) / minutes, DIGITS) if minutes > 0 else 0.0,
        named,
    )
