"""In which order the bars are played: passes, with the stops and restarts that are asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from passagework.listening.simulate.faults import Fault, PlanFault, Restart, Skip
from passagework.score.piece import Piece, Position

BETWEEN_S = 1.6
"""Seconds between two passes where the page does not lead from one to the next: long enough to look up and to
place the hands. An assumption."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """One pass: bars played one after the other, each index larger than the one before."""

    bars: tuple[int, ...]
    stop: Position | None = None
    """Where it breaks off (what begins there is not struck); None for the end of its last bar."""
    pause: float = 0.0
    """Seconds of silence before it."""


@dataclass(frozen=True, slots=True)
class Planned:
    """A fault of the plan as it was carried out."""

    fault: PlanFault
    first_bar: int
    last_bar: int
    runs: tuple[int, ...]


def plan(
    piece: Piece,
    bars: tuple[int, int] | None,
    passes: Sequence[tuple[int, int]] | None,
    faults: Sequence[Fault],
) -> tuple[list[Stretch], list[Planned]]:
    """The passes of a take, and the faults of the plan that found their place.

    `bars` plays these bars once, `passes` several such spans in turn; with neither the page's own order is played,
    repeats taken. A way forward is one pass: a repeat begins another.

    Raises ValueError for bars that the piece does not have.
    """
    rows = _asked(piece, bars, passes)
    planned: list[Planned] = []
    for fault in faults:
        if isinstance(fault, Restart | Skip):
            at = next((k for k, row in enumerate(rows) if fault.bar in row.bars), None)
            if at is None:
                continue
            new = (
                _restarted(piece, rows[at], fault)
                if isinstance(fault, Restart)
                else _skipped(rows[at], fault)
            )
            if not new:
                continue
            low = new[-1].bars[0] if isinstance(fault, Restart) else fault.bar
            high = fault.bar if isinstance(fault, Restart) else fault.to_bar
            grown = len(new) - 1
            planned = [
                replace(p, runs=tuple(r + grown if r > at else r for r in p.runs)) for p in planned
            ]
            planned.append(Planned(fault, low, high, tuple(range(at, at + len(new)))))
            rows[at : at + 1] = new
    return rows, planned


def _asked(
    piece: Piece, bars: tuple[int, int] | None, passes: Sequence[tuple[int, int]] | None
) -> list[Stretch]:
    spans = list(passes) if passes is not None else [bars] if bars is not None else []
    last = len(piece.bars) - 1
    if any(not 0 <= low <= high <= last for low, high in spans):
        raise ValueError(f"the piece has bars 0 to {last} (indices); asked for: {spans}")
    if spans:
        return [
            Stretch(tuple(range(low, high + 1)), pause=BETWEEN_S if k else 0.0)
            for k, (low, high) in enumerate(spans)
        ]
    rows: list[list[int]] = []
    for index in piece.playing_order or range(len(piece.bars)):
        if rows and index > rows[-1][-1]:
            rows[-1].append(index)
        else:
            rows.append([index])
    return [Stretch(tuple(row)) for row in rows]


def _restarted(piece: Piece, row: Stretch, fault: Restart) -> list[Stretch]:
    at = row.bars.index(fault.bar)
    bar = piece.bars[fault.bar]
    stop = bar.onset + fault.beats * bar.time.beat
    if not bar.onset < stop:
        return []
    stop = min(stop, bar.end)
    start = max(at - fault.back, 0)
    again = [
        Stretch(row.bars[start : at + 1], stop, fault.pause) for _ in range(max(fault.times, 1) - 1)
    ]
    return [
        Stretch(row.bars[: at + 1], stop, row.pause),
        *again,
        Stretch(row.bars[start:], row.stop, fault.pause),
    ]


def _skipped(row: Stretch, fault: Skip) -> list[Stretch]:
    if fault.to_bar not in row.bars or fault.to_bar <= fault.bar + 1:
        return []
    at, to = row.bars.index(fault.bar), row.bars.index(fault.to_bar)
    return [
        Stretch(row.bars[: at + 1], None, row.pause),
        Stretch(row.bars[to:], row.stop, fault.pause),
    ]


def length(piece: Piece, row: Stretch) -> Fraction:
    """Quarters of a stretch."""
    whole = sum((piece.bars[b].length for b in row.bars), Fraction(0))
    return whole if row.stop is None else whole - (piece.bars[row.bars[-1]].end - row.stop)
