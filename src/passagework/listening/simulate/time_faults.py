"""Faults in time: figures out of proportion, hands apart, uneven runs."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from passagework.listening.simulate.clock import Clock, Places
from passagework.listening.simulate.faults import (
    HandsApart,
    Polyrhythm,
    Proportion,
    TimeFault,
    Uneven,
)
from passagework.listening.simulate.figures import Figure, figures
from passagework.listening.simulate.strike import Strike
from passagework.listening.simulate.where import Bitten, bitten, inside, other
from passagework.score.piece import Side
from passagework.spots.context import Context

LEAST_SHARE = 0.04
"""Share of a figure that each of its notes keeps, however it is bent."""
PARTS = {"pair": 2, "triplet": 3, "four": 4, "six": 6}


def spoil_time(
    context: Context, strikes: list[Strike], fault: TimeFault, run: int, places: Places, clock: Clock,
    rng: np.random.Generator,
) -> list[Bitten]:  # fmt: skip
    """Carry `fault` out on the strokes of pass `run`."""
    if isinstance(fault, HandsApart):
        return bitten(fault, _apart(strikes, fault), run)
    if isinstance(fault, Uneven):
        return bitten(fault, _uneven(strikes, fault, rng), run)
    found: list[Strike] = []
    if isinstance(fault, Proportion):
        sides: tuple[Side, ...] = ("left", "right") if fault.hand == "both" else (fault.hand,)
        rows = [
            f
            for side in sides
            for f in figures(context, fault.first_bar, fault.last_bar, side)
            if f.shape == fault.shape
        ]
    else:
        rows = polyrhythms(context, fault.first_bar, fault.last_bar, fault.hand)
    by_note: dict[str, list[Strike]] = {}
    for strike in strikes:
        by_note.setdefault(strike.note.id, []).append(strike)
    for figure in rows:
        found += _bend(figure, by_note, fault, places, clock)
    return bitten(fault, found, run)


def polyrhythms(context: Context, first_bar: int, last_bar: int, side: Side) -> list[Figure]:
    """Figures of `side` against which the other hand divides the beat into a number that neither number divides."""
    against = {
        f.onset: PARTS[f.shape]
        for f in figures(context, first_bar, last_bar, other(side))
        if f.shape in PARTS
    }
    found: list[Figure] = []
    for figure in figures(context, first_bar, last_bar, side):
        mine, theirs = PARTS.get(figure.shape, 0), against.get(figure.onset, 0)
        if mine and theirs and mine % theirs and theirs % mine:
            found.append(figure)
    return found


def _bend(
    figure: Figure,
    by_note: dict[str, list[Strike]],
    fault: Proportion | Polyrhythm,
    places: Places,
    clock: Clock,
) -> list[Strike]:
    """Give one member more of the figure's time, and take it from the others in equal parts."""
    if figure.bar not in places.of_bar or fault.member >= len(figure.notes):
        return []
    first = by_note.get(figure.notes[0][0])
    if not first:
        return []
    start = first[0].at
    length = float(figure.length)
    offsets = [
        min((s.at for i in ids for s in by_note.get(i, [])), default=-1.0) - start
        for ids in figure.notes
    ]
    if any(offset < 0 for offset in offsets) or start + length > places.end + 1e-6:
        return []
    shares = np.diff([*offsets, length]) / length
    gain = fault.percent / 100.0
    bent = shares - gain / (len(shares) - 1)
    bent[fault.member] = shares[fault.member] + gain
    if bent.min() < LEAST_SHARE:
        return []
    ends = np.concatenate([[0.0], np.cumsum(bent)]) * length
    found: list[Strike] = []
    for ids, old, new in zip(figure.notes, offsets, ends, strict=False):
        shift = clock.seconds(start + float(new)) - clock.seconds(start + old)
        for ident in ids:
            for strike in by_note.get(ident, []):
                strike.move(shift)
                found.append(strike)
    return found


def _apart(strikes: Sequence[Strike], fault: HandsApart) -> list[Strike]:
    late = inside(strikes, fault.first_bar, fault.last_bar, other(fault.leads))
    lead = {
        (s.note.bar, round(s.at, 6))
        for s in inside(strikes, fault.first_bar, fault.last_bar, fault.leads)
    }
    for strike in late:
        strike.move(fault.ms / 1000.0)
    return [s for s in late if (s.note.bar, round(s.at, 6)) in lead]


def _uneven(strikes: Sequence[Strike], fault: Uneven, rng: np.random.Generator) -> list[Strike]:
    rows = inside(strikes, fault.first_bar, fault.last_bar, fault.hand)
    if fault.notes:
        wanted = frozenset(fault.notes)
        rows = [s for s in rows if s.note.id in wanted]
    shifts: dict[float, tuple[float, float]] = {}
    for strike in rows:
        if strike.at not in shifts:
            luck = (1.0, 1.0) if fault.notes else (float(rng.normal()), float(rng.normal()))
            shifts[strike.at] = luck
        late, loud = shifts[strike.at]
        strike.move(late * fault.ms / 1000.0)
        strike.shape += loud * fault.steps
    return rows
