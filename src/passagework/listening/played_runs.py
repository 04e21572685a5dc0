"""Runs of even notes as they were played: how regular in time and in loudness.

Conventions
-----------
* A *run* is a row of attacks of one hand at most `SLOWEST` seconds apart, at least `FEWEST` of them. Attacks with a roll, a grace note, an
  ornament or a pause end it.
* *Lag* of an attack: its onset less where the two attacks on either side of it put it (the cubic through them, over their
  written places), in seconds; a tempo on its way has none.
* Where the other hand strikes too, what both do together is rubato: the lag is no larger than the time between the hands, and
  `TOGETHER` beyond.
* *Step* in loudness: its velocity less the mean of its neighbours', nearer ones weighing more, in the same way.
* Both are divided by how much such differences scatter more than single strokes do, so that their standard deviation is that of a
  stroke.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import prod, sqrt
from statistics import fmean, median

from passagework.listening.beat import OwnBeat
from passagework.listening.beat_groups import Group, Stroke
from passagework.listening.heard import Heard
from passagework.score.piece import Side

FEWEST = 5
"""Attacks of a run; fewer have no regularity of their own."""

SLOWEST = 0.42
"""Seconds between attacks beyond which the notes are counted one by one and make no run (under three a second)."""

TOGETHER = 0.012
"""Seconds by which two hands of a good player differ by chance (some 10 ms each way: Goebl, 2001)."""

WILDEST = 2.0
"""Weight of a neighbour beyond which the places are too uneven for a cubic through them."""

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
        slow = row and (group.position - row[-1][0].position) * beat.pace(group.position) > SLOWEST
        if slow or group.loose or group.tick in paused:
            yield from _closed(row)
            row = []
        if not group.loose:
            row.append(item)
    yield from _closed(row)


def _closed(row: Sequence[_Item]) -> Iterator[list[_Item]]:
    if len(row) >= FEWEST:
        yield list(row)


def _measured(row: Sequence[_Item]) -> Iterator[RunNote]:
    for at in range(2, len(row) - 2):
        group, strokes, seconds, force = row[at]
        others = [row[at + k] for k in (-2, -1, 1, 2)]
        weights = _cubic([o[0].position - group.position for o in others])
        if max(map(abs, weights)) > WILDEST:
            continue
        gain = sqrt(1.0 + sum(w * w for w in weights))
        lag = seconds - sum(w * o[2] for w, o in zip(weights, others, strict=True))
        step = force - sum(w * o[3] for w, o in zip(weights, others, strict=True))
        interval = (others[3][2] - others[0][2]) / 4
        other = group.onset_of("left" if strokes[0].note.hand == "right" else "right")
        if other is not None:
            most = (abs(seconds - other) + TOGETHER) * gain
            lag = max(-most, min(lag, most))
        yield RunNote(group.bar, group.position, strokes, lag / gain, step / gain, interval)


def _cubic(places: Sequence[float]) -> list[float]:
    """Weights of values at four places in the value at 0 of the cubic through them (Lagrange): -1/6, 2/3, 2/3, -1/6 where the
    places are -2, -1, 1, 2.
    """
    return [
        prod(-other / (place - other) for k, other in enumerate(places) if k != at)
        for at, place in enumerate(places)
    ]
