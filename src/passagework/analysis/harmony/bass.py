"""The bass as the ear follows it: through broken chords, after-beats and pedal points."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony.grid import BEAT, HALF_BAR, Grid
from passagework.analysis.harmony.strangeness import Struck
from passagework.score.piece import Note

Array = NDArray[Any]
PEDAL_BEATS, PEDAL_SHARE = 1, 40
"""The same for a bass that lies still: what the harmony above does later is no longer about that note."""
BASS_LEAP = 7
"""Semitones up within a bar beyond which the lowest note is taken for an accompaniment left alone
(a bass walks and leaps by fifths; wider leaps up within a bar are after-beats)."""
FIGURE_LEAP = 3
"""Semitones: a step is never part of a broken chord's upper turn (a tune turns by steps)."""
FIGURE_BEATS = 2
"""Beats from its lowest note over which a broken chord is one figure (up to the half bar)."""
BASS_REACH = 2
"""Semitones above the lowest note of the beat up to which a note still counts as bass: a step."""
IMPLIED_SHARE = 30
"""Percentage at which a bass counts that is no longer held but still in the ear."""


def turning_points(
    notes: tuple[Note, ...], voices: list[list[Struck]], starts: list[int], ends: list[int]
) -> list[int]:
    """For every note -1 or 1 where it is the lower or upper turning point of a broken chord, else 0.

    Such a note is alone in its voice, between two notes of its own length that are both higher, or
    both lower by at least FIGURE_LEAP, no more than an octave away, without a gap.
    """
    out = [0] * len(notes)
    midi = [n.midi for n in notes]
    for groups in voices:
        for before, one, after in zip(groups, groups[1:], groups[2:], strict=False):
            if len(before) == len(one) == len(after) == 1:
                a, b, c = before[0], one[0], after[0]
                rise = (midi[a] - midi[b], midi[c] - midi[b])
                length = ends[b] - starts[b]
                even = starts[b] - starts[a] == length == ends[c] - starts[c]
                joined = ends[a] == starts[b] and ends[b] == starts[c]
                if even and joined and max(rise) <= 12 and min(rise) >= -12:
                    out[b] = -1 if min(rise) > 0 else int(max(rise) <= -FIGURE_LEAP)
    return out


def _floors(
    lowest: list[int], sets: list[set[int]], turning: list[set[int]], grid: Grid
) -> list[int]:
    """The bass that the ear holds on to at each atom: the lowest note of the beat so far, carried
    over the bar where what follows is only the rest of the chord, left alone or leapt up to.
    """
    floor = list(lowest)
    since = 0
    for i in range(1, len(floor)):
        if grid.bars[i] != grid.bars[i - 1] or floor[i] <= floor[i - 1]:
            since = i
            continue
        two = sorted(sets[i])[:2]
        alone = all(m in sets[i - 1] for m in two)
        ago = grid.starts[i] - grid.starts[since]
        reach = FIGURE_BEATS * grid.beats[i] - (grid.levels[i] >= HALF_BAR)
        inner = lowest[i] in turning[i] and ago <= reach and lowest[i] <= floor[i - 1] + 12
        if inner or alone or grid.levels[i] < BEAT or floor[i] > floor[i - 1] + BASS_LEAP:
            floor[i] = floor[i - 1]
        else:
            since = i
    return floor


def bass_of(
    shape: tuple[int, int], atom: Array, column: Array, midi: Array, share: Array,
    length: Array, turning: Array, grid: Grid,
) -> tuple[Array, Array]:  # fmt: skip
    """Weight of the lowest note of every atom, less where its beat has gone lower; and how much of
    it is news.

    A lowest note that fills at least half of its atom, or opens it as broken chords do, stands for
    the whole atom.
    """
    sets: list[set[int]] = [set() for _ in range(shape[0])]
    turns: list[set[int]] = [set() for _ in range(shape[0])]
    for a, m, turn in zip(atom.tolist(), midi.tolist(), turning.tolist(), strict=True):
        sets[a].add(m)
        if turn:
            turns[a].add(m)
    lowest = [min(s) for s in sets]
    floors = _floors(lowest, sets, turns, grid)
    low, floor = np.array(lowest), np.array(floors)
    bass = np.zeros(shape, dtype=np.int64)
    mine = (midi == low[atom]) & (
        (midi <= floor[atom] + BASS_REACH) | ((midi - floor[atom]) % 12 == 0)
    )
    full = np.where(2 * share[mine] >= length[atom[mine]], length[atom[mine]], share[mine])
    near = np.where((midi[mine] - floor[atom[mine]]) % 12 == 0, full, full // 2)
    np.maximum.at(bass, (atom[mine], column[mine]), near)
    column_of = dict(zip(midi.tolist(), column.tolist(), strict=True))
    left = np.flatnonzero(bass.sum(axis=1) == 0)
    held = np.array([column_of[floors[i]] for i in left.tolist()], dtype=np.int64)
    bass[left, held] = length[left] * IMPLIED_SHARE // 100
    return bass, np.where(_lying(floors, grid)[:, None], bass * PEDAL_SHARE // 100, bass)


def _lying(floors: list[int], grid: Grid) -> Array:
    """Atoms whose bass, held or struck again, has been the same for more than PEDAL_BEATS."""
    out = np.zeros(len(floors), dtype=bool)
    since = 0
    for i in range(1, len(floors)):
        if (floors[i] - floors[i - 1]) % 12:
            since = i
        out[i] = grid.starts[i] - grid.starts[since] >= PEDAL_BEATS * grid.beats[i]
    return out
