"""Runs of even notes as they were played: how regular in time and in loudness.

Conventions
-----------
* A *run* is a row of attacks of one hand at equal written distances without a rest (`passagework.spots.runs`), at least `FEWEST` of
  them and at most `SLOWEST` seconds apart. Attacks with a roll, a grace note, an ornament or a pause end it.
* *Lag* of an attack: its onset less where the two attacks on either side of it put it (the cubic through them), in seconds; a tempo
  on its way has none.
* *Step* in loudness: the same for velocities; a crescendo has none.
* Both are divided by `GAIN`, so that their standard deviation is that of a single stroke.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean, median

from passagework.listening.beat import OwnBeat
from passagework.listening.beat_groups import Group, Stroke
from passagework.listening.heard import Heard
from passagework.score.piece import Side

FEWEST = 6
"""Attacks of a run; fewer have no regularity of their own."""

SLOWEST = 0.36
"""Seconds between attacks beyond which the notes are counted one by one and make no run (under three a second)."""

CUBIC = ((-2, -1 / 6), (-1, 4 / 6), (1, 4 / 6), (2, -1 / 6))
"""Weights of the neighbours in the value of the cubic through them (Lagrange)."""

GAIN = sqrt(1.0 + sum(w * w for _, w in CUBIC))
"""By how much the differences scatter more than the strokes, where these are independent."""


SIDES: tuple[Side, ...] = ("left", "right")


@dataclass(frozen=True, slots=True)
class RunNote:
    """One attack of a run."""

    bar: int
    position: float
    strokes: tuple[Stroke, ...]
    lag: float
    """Seconds behind its neighbours (ahead: negative)."""
    step: float
    """Velocity above its neighbours."""
    interval: float
    """Mean seconds from attack to attack about it."""


@dataclass(frozen=True, slots=True)
class PlayedRun:
    """A run of one hand in one pass."""

    run: int
    side: Side
    notes: tuple[RunNote, ...]


def played_runs(heard: Heard) -> list[PlayedRun]:
    """Every run of every pass, hand by hand, in order. Linear in the notes."""
    found: list[PlayedRun] = []
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        for side in SIDES:
            found += [PlayedRun(run, side, tuple(_measured(row))) for row in _rows(beat, side)]
    return found


_Item = tuple[Group, tuple[Stroke, ...], float, float]


def _rows(beat: OwnBeat, side: Side) -> Iterator[list[_Item]]:
    """Rows of attacks at equal written distances, no rest between them."""
    paused = {beat.groups[s.index].tick for s in beat.steps}
    row: list[_Item] = []
    step = 0
    for group in beat.struck:
        strokes = group.of_hand(side)
        if not strokes:
            continue
        item = (
            group,
            strokes,
            median(s.played.onset for s in strokes),
            fmean(s.played.velocity for s in strokes),
        )
        if row:
            gap = group.tick - row[-1][0].tick
            joined = _joined(row[-1], group) and not group.loose and group.tick not in paused
            if not joined or (len(row) > 1 and gap != step):
                yield from _closed(row)
                row = [row[-1], item] if joined else []
                step = gap
            else:
                step = gap
                row.append(item)
        if not row and not group.loose:
            row = [item]
    yield from _closed(row)


def _joined(item: _Item, group: Group) -> bool:
    """Whether no rest is written between an attack and the next."""
    return max(float(s.note.end) for s in item[1]) >= group.position - 1e-9


def _closed(row: Sequence[_Item]) -> Iterator[list[_Item]]:
    if len(row) < FEWEST:
        return
    if (row[-1][2] - row[0][2]) / (len(row) - 1) <= SLOWEST:
        yield list(row)


def _measured(row: Sequence[_Item]) -> Iterator[RunNote]:
    times = [item[2] for item in row]
    forces = [item[3] for item in row]
    for at in range(2, len(row) - 2):
        group, strokes, seconds, force = row[at]
        lag = seconds - sum(w * times[at + k] for k, w in CUBIC)
        step = force - sum(w * forces[at + k] for k, w in CUBIC)
        interval = (times[at + 2] - times[at - 2]) / 4
        yield RunNote(group.bar, group.position, strokes, lag / GAIN, step / GAIN, interval)
