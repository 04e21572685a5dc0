"""What the notes say, atom by atom: weights of spelled pitch classes, strangers, and the bass."""

from __future__ import annotations

from dataclasses import dataclass
from math import lcm
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.bass import bass_of, turning_points
from passagework.analysis.harmony.grid import BEAT, Grid, grid_of
from passagework.analysis.harmony.strangeness import Struck, strangeness_of, voices_of
from passagework.score.piece import Note, Piece

Array = NDArray[Any]
UNIT = 240
"""Weights are whole numbers of this fraction of a beat, so that sums are exact in any order."""
LINE_SHARE, FULL_TENTHS = 45, 20
"""Percentage at which the notes of a line alone count, and how many tenths of a note must sound at a
time for the full weight."""
HELD_BEATS, HELD_SHARE = 2, 30
"""A note held longer than these beats counts this percentage from then on: what is new speaks for
the harmony, what has been lying there may be a pedal point or wait for its resolution."""


@dataclass(frozen=True)
class Evidence:
    """All arrays are whole numbers; rows are atoms."""

    grid: Grid
    low: int
    """Line-of-fifths place of column 0."""
    sound: Array
    """(atoms, places): weight of each spelled pitch class, in UNITs of a beat."""
    strange: Array
    """(atoms, places): that weight times the log probability of being a non-chord note, thousandths."""
    bass: Array
    """(atoms, places): weight of the lowest note, in UNITs."""
    bass_news: Array
    """The same, less where the bass lies still."""
    notes: tuple[Note, ...]
    """The notes that count (no grace notes; small print counts, it sounds)."""
    first: Array
    """Atom in which each note begins."""
    last: Array
    """Atom in which each note ends (inclusive)."""
    starts: Array
    ends: Array
    """Ticks of the notes."""
    strangeness: Array
    """Per note: log probability of being a non-chord note, thousandths of a nat."""
    turning: Array
    """Per note: -1 or 1 at the lower or upper turning point of a broken chord, else 0."""
    ticks: int
    """To a quarter."""
    voices: list[list[Struck]]
    """For every voice, indices of its notes in order, those struck together as one."""


def tick_rows(piece: Piece) -> tuple[tuple[Note, ...], list[int], list[int], int]:
    """Sounding notes with their onset and end in ticks, and the ticks to a quarter.

    The tick is fine enough for half of every beat as well as for every note.
    """
    ticks = lcm(piece.ticks_per_quarter, *{bar.time.beat_type for bar in piece.bars})
    notes = tuple(n for n in piece.notes if n.duration > 0)
    starts = [n.onset.numerator * (ticks // n.onset.denominator) for n in notes]
    ends = [
        s + n.duration.numerator * (ticks // n.duration.denominator)
        for s, n in zip(starts, notes, strict=True)
    ]
    return notes, starts, ends, ticks


def gather(piece: Piece) -> Evidence | None:
    """The evidence of `piece`, None where it has no note. Linear in notes."""
    notes, starts, ends, ticks = tick_rows(piece)
    if not notes:
        return None
    attacks: dict[int, set[int]] = {}
    for note, start in zip(notes, starts, strict=True):
        attacks.setdefault(start, set()).add(note.midi % 12)
    grid = grid_of(piece, ticks, attacks)
    begin, finish = np.array(starts), np.array(ends)
    edges, first, last = _places(grid, begin, finish)
    heard = np.cumsum(
        np.bincount(first, minlength=len(edges)) - np.bincount(last + 1, minlength=len(edges))
    )
    if not heard[:-1].all():
        grid = grid.only([i for i, sounding in enumerate(heard[:-1].tolist()) if sounding])
        edges, first, last = _places(grid, begin, finish)
    beat = np.array(grid.beats, dtype=np.int64)
    beats = beat[first].tolist()
    weak = [
        (grid.levels[a] < BEAT or s != grid.starts[a]) and 2 * (e - s) <= b
        for a, s, e, b in zip(first.tolist(), starts, ends, beats, strict=True)
    ]
    voices = voices_of(notes, starts)
    strangeness = np.array(strangeness_of(notes, voices, starts, ends, beats, weak), dtype=np.int64)
    return _spread(grid, edges, beat, notes, begin, finish, first, last, strangeness, ticks, voices)


def _places(grid: Grid, begin: Array, finish: Array) -> tuple[Array, Array, Array]:
    """Edges of the atoms, and the first and last atom of every note."""
    edges = np.array([*grid.starts, max(grid.end, int(finish.max()))], dtype=np.int64)
    first = np.maximum(np.searchsorted(edges, begin, side="right") - 1, 0)
    last = np.maximum(np.searchsorted(edges, finish, side="left") - 1, first)
    return edges, first, last


def _spread(
    grid: Grid, edges: Array, beat: Array, notes: tuple[Note, ...],
    begin: Array, finish: Array, first: Array, last: Array, strangeness: Array, ticks: int, voices: list[list[Struck]],
) -> Evidence:  # fmt: skip
    """Lay every note over the atoms in which it sounds."""
    count = last - first + 1
    which = np.repeat(np.arange(len(notes)), count)
    atom = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + first[which]
    overlap = np.minimum(finish[which], edges[atom + 1]) - np.maximum(begin[which], edges[atom])
    share = np.minimum(overlap * UNIT // beat[atom], int(weights.LONGEST_BEATS * UNIT))
    ago = np.maximum(edges[atom] - begin[which], 0)
    share = np.where(ago >= HELD_BEATS * beat[atom], share * HELD_SHARE // 100, share)
    turning = np.array(turning_points(notes, voices, begin.tolist(), finish.tolist()))
    length = np.minimum(np.diff(edges) * UNIT // beat, UNIT)
    struck = np.where(atom == first[which], np.minimum(share, int(weights.ATTACK_SHARE * UNIT)), 0)
    weight = share + struck
    place = np.array([n.pitch.fifths for n in notes])
    low = int(place.min())
    width = int(place.max()) - low + 1
    column = place[which] - low
    shape = (len(grid.starts), width)
    time, attack = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    total, strange = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    np.add.at(time, (atom, column), share)
    np.maximum.at(attack, (atom, column), struck)
    np.add.at(total, (atom, column), weight)
    np.add.at(strange, (atom, column), weight * strangeness[which])
    once = np.minimum(time, length[:, None]) + attack
    sound = once + (total - once) * int(weights.DOUBLING_SHARE * 100) // 100
    mean = strange // np.maximum(total, 1)
    full = _fullness(np.minimum(time, length[:, None]), length)
    sound = sound * full[:, None] // 100
    midi = np.array([n.midi for n in notes])
    bass, bass_news = bass_of(
        shape, atom, column, midi[which], share, length, turning[which] < 0, grid
    )
    bass, bass_news = (b * full[:, None] ** 2 // 10000 for b in (bass, bass_news))
    return Evidence(
        grid,
        low,
        sound,
        sound * mean,
        bass,
        bass_news,
        notes,
        first,
        last,
        begin,
        finish,
        strangeness,
        turning,
        ticks,
        voices,
    )


def _fullness(time: Array, length: Array) -> Array:
    """(atoms,): percentage at which the notes of each atom count, by how many sound at a time.

    `time` is how long each pitch class sounds in each atom, `length` that of the atoms. A line alone,
    or in octaves, implies its harmony only over a while: each of its notes may as well be passing.
    """
    tenths = time.sum(axis=1) * 10 // np.maximum(length, 1)
    full = (np.clip(tenths, 10, FULL_TENTHS) - 10) * (100 - LINE_SHARE) // (FULL_TENTHS - 10)
    out: Array = LINE_SHARE + full
    return out
