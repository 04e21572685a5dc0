"""Accompaniment alone is no tune: introductions and afterludes taken back from the line.

The best line through a piece takes what there is, so where only an accompaniment plays it follows that.
A stretch of the line in one hand is taken back if it is a figure, and that hand plays the same sort of
figure under a tune of the other hand just after or just before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.analysis.melody_path import REST
from passagework.analysis.melody_slices import Slices

FIGURE = 0.55
"""Mean figure share from which a stretch, and what a hand plays under a tune, is accompaniment."""

TUNE = 0.4
"""Mean figure share up to which the neighbour is a tune."""

LOOK = 24
"""Slices of the neighbour that are looked at."""


@dataclass(frozen=True, slots=True)
class _Stretch:
    """Notes of the line in one hand, in order, and the slices in which they have the line."""

    hand: int
    notes: list[int]
    slices: list[int]


def without_vamps(slices: Slices, path: Sequence[int], figure: Sequence[float]) -> list[int]:
    """`path` (for every slice the note that has the line) with accompaniment alone made `REST`."""
    stretches = _stretches(slices, path)
    result = list(path)
    for k, stretch in enumerate(stretches):
        if _mean(figure, stretch.notes) < FIGURE:
            continue
        after = stretches[k + 1] if k + 1 < len(stretches) else None
        before = stretches[k - 1] if k else None
        if _accompanies(slices, figure, stretch.hand, after, first=True) or _accompanies(
            slices, figure, stretch.hand, before, first=False
        ):
            for at in stretch.slices:
                result[at] = REST
    return result


def _stretches(slices: Slices, path: Sequence[int]) -> list[_Stretch]:
    hand = slices.attacks.hand
    stretches: list[_Stretch] = []
    for at, i in enumerate(path):
        if i == REST:
            continue
        if not stretches or stretches[-1].hand != hand[i]:
            stretches.append(_Stretch(hand[i], [], []))
        last = stretches[-1]
        if not last.notes or last.notes[-1] != i:
            last.notes.append(i)
        last.slices.append(at)
    return stretches


def _accompanies(
    slices: Slices, figure: Sequence[float], hand: int, tune: _Stretch | None, first: bool
) -> bool:
    """Whether `hand` goes on with a figure under the beginning (or the end) of the other hand's tune."""
    if tune is None:
        return False
    notes = tune.notes[:LOOK] if first else tune.notes[-LOOK:]
    if _mean(figure, notes) > TUNE:
        return False
    where = tune.slices[:LOOK] if first else tune.slices[-LOOK:]
    under = [i for at in where for i in slices.begins[at] if slices.attacks.hand[i] == hand]
    return len(under) > 1 and _mean(figure, under) >= FIGURE


def _mean(figure: Sequence[float], notes: Sequence[int]) -> float:
    return sum(figure[i] for i in notes) / len(notes)
