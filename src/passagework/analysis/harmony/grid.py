"""The places where a chord may begin, and how strong each is in its bar."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from passagework.score.piece import Bar, Piece

DOWNBEAT, HALF_BAR, BEAT, OFF_BEAT, FINE = 4, 3, 2, 1, 0
"""Metric levels, strongest first."""

CHORDAL_ATTACK, NEW_IN_IT = 3, 2
"""Pitch classes struck together off the grid that make a place for a chord of its own, and how many
of them the attack before must not have had."""


@dataclass(frozen=True, slots=True)
class Metre:
    """A bar's metre as harmony moves in it, in ticks."""

    beat: int
    unit: int
    """Half a simple beat, a third of a compound one: no chord is sought between units."""
    beats: tuple[int, ...]
    """Where the beats begin."""
    middle: int
    """Where the second half begins, -1 for a metre without halves."""


def metre_of(bar: Bar, ticks: int) -> Metre:
    """Beats of `bar` whatever note value the signature counts them in; `ticks` to a quarter."""
    step = 4 * ticks // bar.time.beat_type
    parts = bar.time.beats
    total = sum(parts)
    if len(parts) > 1:
        starts = [sum(parts[:i]) * step for i in range(len(parts))]
        return Metre(step, step, tuple(starts), -1)
    compound = total > 3 and total % 3 == 0
    beat = 3 * step if compound else step
    count = total // 3 if compound else total
    unit = step if compound else max(step // 2, 1)
    middle = count // 2 * beat if count % 2 == 0 else -1
    return Metre(beat, unit, tuple(i * beat for i in range(count)), middle)


@dataclass
class Grid:
    """Atoms: the smallest segments considered, end to end from the first note to the end."""

    starts: list[int]
    """Ticks."""
    end: int
    levels: list[int]
    beats: list[int]
    """Length of the beat in force, ticks."""
    bars: list[int]
    fifths: list[int]
    """Signature in force."""
    pace: float = 0.0
    """Places where something is struck, per beat."""

    def only(self, kept: list[int]) -> Grid:
        """The grid with only these atoms; each lasts to the next."""
        rows = (self.starts, self.levels, self.beats, self.bars, self.fifths)
        starts, levels, beats, bars, fifths = ([row[i] for i in kept] for row in rows)
        return Grid(starts, self.end, levels, beats, bars, fifths, self.pace)


def _offset(bars: tuple[Bar, ...], index: int) -> Fraction:
    """How far into its metre a short bar begins: a pickup or the second part of a split bar."""
    bar = bars[index]
    full = bar.time.length
    if bar.length >= full:
        return Fraction(0)
    if bar.pickup:
        return full - bar.length
    before = bars[index - 1] if index else None
    if before is not None and before.length < full and not before.pickup:
        return before.length if before.length + bar.length <= full else Fraction(0)
    return Fraction(0)


def _level(place: int, metre: Metre) -> int:
    if place == 0:
        return DOWNBEAT
    if place == metre.middle:
        return HALF_BAR
    if place in metre.beats:
        return BEAT
    return OFF_BEAT if place % metre.unit == 0 else FINE


def grid_of(piece: Piece, ticks: int, attacks: dict[int, set[int]]) -> Grid:
    """Atoms of `piece`; `attacks` are the pitch classes struck at each tick."""
    by_bar: list[list[int]] = [[] for _ in piece.bars]
    at, ends = 0, [int(b.end * ticks) for b in piece.bars]
    for tick in sorted(attacks):
        while at < len(ends) - 1 and tick >= ends[at]:
            at += 1
        by_bar[at].append(tick)
    grid = Grid([], ends[-1] if ends else 0, [], [], [], [])
    for index, bar in enumerate(piece.bars):
        metre = metre_of(bar, ticks)
        start = int(bar.onset * ticks)
        into = int(_offset(piece.bars, index) * ticks)
        places: set[int] = set()
        before: set[int] = set()
        for tick in by_bar[index]:
            struck = attacks[tick]
            place = tick - start + into
            places.add(place // metre.unit * metre.unit)
            fine = place % metre.unit
            if fine and len(struck) >= CHORDAL_ATTACK and len(struck - before) >= NEW_IN_IT:
                places.add(place)
            before = struck
        for place in sorted(places):
            grid.starts.append(max(start + place - into, start))
            grid.levels.append(_level(place, metre))
            grid.beats.append(metre.beat)
            grid.bars.append(index)
            grid.fifths.append(bar.fifths)
    beats = sum(float(b.length) * ticks / metre_of(b, ticks).beat for b in piece.bars)
    grid.pace = len(attacks) / beats if beats else 0.0
    return grid
