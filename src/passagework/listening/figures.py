"""Figures inside the beat: what share of its time each note was given.

Conventions
-----------
* A *figure* is what one hand, or one voice of it, strikes from the start of a beat to the start of the next one, at
  parts of the beat that are all equal (`LARGEST_PARTS` at most; beyond `MOST_NOTES` none may be missing). Where a beat holds more than `MOST_NOTES` of them, its halves
  (in compound time its thirds) are taken instead; a figure may also fill two beats.
* A *share* is the time from a note's attack to the next one's, over the time of the whole figure; the last note's ends
  with the attack that opens the next beat. A triplet's shares are written 33, 33, 33 per cent, a dotted quaver's and its
  semiquaver's 75 and 25.
* Figures with a grace note, a roll, a trill or a pause in them are left out.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import gcd
from statistics import median

from passagework.listening.beat import OwnBeat
from passagework.listening.beat_groups import Group, is_spread
from passagework.listening.heard import Heard
from passagework.score.piece import Bar, Note, Piece, Side

LARGEST_PARTS = 8
"""Parts of a figure beyond which it is ornamental and measured by nobody."""

MOST_NOTES = 4
"""Notes of a figure beyond which the beat is felt in smaller parts."""

STEEPEST = 0.4
"""Change of the pace from one figure to the next beyond which it is no tempo on its way."""

Shape = tuple[Fraction, ...]
"""Where the notes stand in the figure: 0, then parts of 1."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure as it was played."""

    run: int
    bar: int
    side: Side
    position: float
    """Where it begins, in quarters."""
    length: Fraction
    """Its length in quarters."""
    shape: Shape
    notes: tuple[tuple[Note, ...], ...]
    """The notes at each place of the shape."""
    shares: tuple[float, ...]
    """Share of each note's time, adding up to 1."""
    seconds: float
    """How long it took."""
    slope: float
    """Share by which the beat was slowing (quickening: negative) over it, seen from the figures on either side."""

    @property
    def written(self) -> tuple[float, ...]:
        """The shares as written."""
        return written_shares(self.shape)

    @property
    def departures(self) -> tuple[float, ...]:
        """Played shares less written ones; what a tempo on its way would give each note is taken off."""
        ends = (*(float(e) for e in self.shape[1:]), 1.0)
        result = []
        for share, start, end in zip(self.shares, map(float, self.shape), ends, strict=True):
            expected = (end - start) * (1.0 + self.slope * ((start + end) / 2 - 0.5))
            result.append(share - expected)
        return tuple(result)


def written_shares(shape: Shape) -> tuple[float, ...]:
    """The share of each note of a shape as written."""
    ends = (*shape[1:], Fraction(1))
    return tuple(float(e - s) for s, e in zip(shape, ends, strict=True))


@dataclass(frozen=True, slots=True)
class _Struck:
    tick: int
    seconds: float
    notes: tuple[Note, ...]
    firm: bool


def find_figures(heard: Heard) -> dict[tuple[Side, Shape, Fraction], list[Figure]]:
    """All figures by hand, shape and length, in order of time. Linear in the notes played."""
    found: dict[tuple[Side, Shape, Fraction], list[Figure]] = defaultdict(list)
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        for figure in _figures_of(heard.piece, run, beat):
            found[figure.side, figure.shape, figure.length].append(figure)
    return found


def _figures_of(piece: Piece, run: int, beat: OwnBeat) -> Iterator[Figure]:
    known: set[tuple[Side, int, Shape, Fraction]] = set()
    paused = {beat.groups[s.index].tick for s in beat.steps}
    opening = {g.tick: g for g in beat.struck}
    for (side, _), row in sorted(_lines(beat.struck).items()):
        for figure, tick in _cut(piece, run, side, row, opening, paused, beat):
            key = (side, tick, figure.shape, figure.length)
            if key not in known:
                known.add(key)
                yield figure


def _lines(groups: Sequence[Group]) -> dict[tuple[Side, str], list[_Struck]]:
    """What each hand strikes, and each voice of it where it has several; the hand as voice ``""``."""
    rows: dict[tuple[Side, str], list[_Struck]] = defaultdict(list)
    for group in groups:
        parts: dict[tuple[Side, str], list[tuple[float, Note]]] = defaultdict(list)
        for stroke in group.strokes:
            item = (stroke.played.onset, stroke.note)
            parts[stroke.note.hand, ""].append(item)
            parts[stroke.note.hand, stroke.note.voice].append(item)
        firm = not group.loose
        for key, items in parts.items():
            time = median(seconds for seconds, _ in items)
            notes = tuple(note for _, note in items)
            rows[key].append(
                _Struck(group.tick, time, notes, firm and not any(map(is_spread, notes)))
            )
    return rows


def _cut(
    piece: Piece,
    run: int,
    side: Side,
    row: list[_Struck],
    opening: dict[int, Group],
    paused: set[int],
    own: OwnBeat,
) -> Iterator[tuple[Figure, int]]:
    """Figures of one line, each with the tick at which it begins."""
    at: dict[int, int] = {s.tick: k for k, s in enumerate(row)}
    bars = sorted({n.bar for s in row for n in s.notes})
    for bar in (piece.bars[b] for b in bars):
        start, end, beat = piece.ticks(bar.onset), piece.ticks(bar.end), piece.ticks(bar.time.beat)
        for low, high in _spans(bar, start, end, beat, at, row):
            first = at[low]
            last = first
            while last < len(row) and row[last].tick < high:
                last += 1
            inside = row[first:last]
            shut = _shut(row, last, high, opening)
            if len(inside) < 2 or shut is None or not all(s.firm for s in inside):
                continue
            if any(s.tick in paused for s in inside[1:]) or high in paused:
                continue
            figure = _figure(run, side, bar, inside, low, high, shut, piece.ticks_per_quarter, own)
            if figure is not None:
                yield figure, low


def _spans(
    bar: Bar, start: int, end: int, beat: int, at: dict[int, int], row: Sequence[_Struck]
) -> Iterator[tuple[int, int]]:
    """Spans of a bar that begin with an attack: beats, or their parts where they are full, or two beats."""
    parts = 3 if bar.time.beat.numerator % 3 == 0 else 2
    for low in range(start, end, max(beat, 1)):
        high = low + beat
        if low not in at or high > end:
            continue
        count = sum(1 for s in row[at[low] : at[low] + 2 * LARGEST_PARTS] if s.tick < high)
        if count <= MOST_NOTES:
            if count == 1 and high + beat <= end and (low - start) % (2 * beat) == 0:
                yield low, high + beat
            else:
                yield low, high
        elif beat % parts == 0:
            part = beat // parts
            yield from ((k, k + part) for k in range(low, high, part) if k in at)


def _shut(row: Sequence[_Struck], last: int, high: int, opening: dict[int, Group]) -> float | None:
    """The second at which the figure ends: this line's attack there, else the other's; None for none."""
    if last < len(row) and row[last].tick == high:
        return row[last].seconds if row[last].firm else None
    group = opening.get(high)
    return group.seconds if group is not None and not group.loose else None


def _figure(
    run: int, side: Side, bar: Bar, inside: Sequence[_Struck], low: int, high: int, shut: float, per_quarter: int, own: OwnBeat
) -> Figure | None:  # fmt: skip
    shared = gcd(high - low, *(s.tick - low for s in inside))
    parts = (high - low) // shared
    if parts > LARGEST_PARTS or (parts > MOST_NOTES and len(inside) < parts):
        return None
    times = [s.seconds for s in inside] + [shut]
    whole = times[-1] - times[0]
    shares = tuple((b - a) / whole for a, b in pairwise(times)) if whole > 0 else ()
    if not shares or min(shares) < 0:
        return None
    shape = tuple(Fraction(s.tick - low, high - low) for s in inside)
    return Figure(
        run, bar.index, side, low / per_quarter, Fraction(high - low, per_quarter), shape,
        tuple(s.notes for s in inside), shares, whole, _slope(own, low / per_quarter, high / per_quarter),
    )  # fmt: skip


def _slope(own: OwnBeat, start: float, end: float) -> float:
    """Change of the pace from one figure to the next as a share, from the figures before and after."""
    length = end - start
    here = own.pace_between(start, end)
    if here <= 0:
        return 0.0
    change = own.pace_between(end, end + length) - own.pace_between(start - length, start)
    return max(-STEEPEST, min(STEEPEST, change / (2.0 * here)))
