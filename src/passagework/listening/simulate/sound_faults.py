"""Faults in the sound: balance, dynamics, touch."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from passagework.listening.simulate.faults import (
    Dynamics,
    FlatBalance,
    LegatoCut,
    SoundFault,
    StaccatoHeld,
    TouchFault,
)
from passagework.listening.simulate.loudness import TUNE_ABOVE, TUNE_SHARE
from passagework.listening.simulate.strike import SHORTEST_S, Strike
from passagework.listening.simulate.touch import Touches, release
from passagework.listening.simulate.where import Bitten, bitten, inside
from passagework.spots.context import Context

SPOILS = {LegatoCut: {"legato"}, StaccatoHeld: {"staccato", "staccatissimo"}}
"""Which touches a fault spoils."""


def spoil_sound(
    context: Context, strikes: Sequence[Strike], fault: SoundFault, run: int
) -> list[Bitten]:
    """Change how hard the strokes of pass `run` are."""
    rows = inside(strikes, fault.first_bar, fault.last_bar)
    if isinstance(fault, FlatBalance):
        middle = TUNE_SHARE - TUNE_ABOVE / 2
        tune = context.tune.melody
        for strike in rows:
            strike.lift = middle + (fault.above / 2 if strike.note.id in tune else -fault.above / 2)
        return bitten(fault, [s for s in rows if s.note.id in tune], run)
    if isinstance(fault, Dynamics) and rows:
        mean = sum(s.marked for s in rows) / len(rows)
        for strike in rows:
            strike.marked = mean + fault.scale * (strike.marked - mean)
    return bitten(fault, rows, run)


def hold(
    strikes: Sequence[Strike],
    faults: Sequence[TouchFault],
    run: int,
    touches: Touches,
    rng: np.random.Generator,
) -> list[Bitten]:
    """Let every key go as its touch asks, or as one of `faults` does; the strokes end where they are written to end."""
    spoiled: dict[int, list[Strike]] = defaultdict(list)
    for strike in strikes:
        touch = touches.of(strike.note)
        for k, fault in enumerate(faults):
            if strike.main and touch in SPOILS[type(fault)] and _covers(fault, strike):
                share = fault.share * (strike.end - strike.onset)
                strike.end = strike.onset + max(share, SHORTEST_S)
                spoiled[k].append(strike)
                break
        else:
            release(touch, strike, rng)
    return [b for k, row in spoiled.items() for b in bitten(faults[k], row, run)]


def _covers(fault: TouchFault, strike: Strike) -> bool:
    here = fault.first_bar <= strike.note.bar <= fault.last_bar
    return here and fault.hand in ("both", strike.hand)
