"""What the notes say, atom by atom: weights of spelled pitch classes, strangers, and the bass."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.grid import BEAT, Grid, grid_of
from passagework.score.piece import Note, Piece

Array = NDArray[Any]
UNIT = 240
"""Weights are whole numbers of this fraction of a beat, so that sums are exact in any order."""
HELD_BEATS, HELD_SHARE = 2, 30
"""A note held longer than these beats counts this percentage from then on: what is new speaks for
the harmony, what has been lying there may be a pedal point or wait for its resolution."""
PEDAL_BEATS, PEDAL_SHARE = 1, 40
"""The same for a bass that lies still: what the harmony above does later is no longer about that note."""
BASS_LEAP = 7
"""Semitones up within a bar beyond which the lowest note is taken for an accompaniment left alone
(a bass walks and leaps by fifths; wider leaps up within a bar are after-beats)."""
BASS_REACH = 2
"""Semitones above the lowest note of the beat up to which a note still counts as bass: a step."""
IMPLIED_SHARE = 30
"""Percentage at which a bass counts that is no longer held but still in the ear."""


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
    """The notes that count (no grace notes, no cues)."""
    first: Array
    """Atom in which each note begins."""
    last: Array
    """Atom in which each note ends (inclusive)."""
    starts: Array
    ends: Array
    """Ticks of the notes."""
    strangeness: Array
    """Per note: log probability of being a non-chord note, thousandths of a nat."""
    ticks: int
    """To a quarter."""


def tick_rows(piece: Piece) -> tuple[tuple[Note, ...], list[int], list[int], int]:
    """Sounding notes with their onset and end in ticks, and the ticks to a quarter.

    The tick is fine enough for half of every beat as well as for every note.
    """
    ticks = piece.ticks_per_quarter
    for bar in piece.bars:
        while (4 * ticks) % (2 * bar.time.beat_type):
            ticks *= 2
    notes = tuple(n for n in piece.notes if n.duration > 0 and not n.cue)
    starts = [n.onset.numerator * (ticks // n.onset.denominator) for n in notes]
    ends = [
        s + n.duration.numerator * (ticks // n.duration.denominator)
        for s, n in zip(starts, notes, strict=True)
    ]
    return notes, starts, ends, ticks


SAME, STEP, FREE_STEP = 3, 2, 1


def _near(pitches: list[tuple[int, int]], note: Note) -> int:
    """SAME where `pitches` hold the note itself, STEP where they hold a resolution of it (a step
    down or a half step up), FREE_STEP for a whole step up, else 0.
    """
    found = 0
    for midi, diatonic in pitches:
        moved = midi - note.midi
        if moved == 0:
            return SAME
        if abs(diatonic - note.pitch.diatonic) == 1 and abs(moved) <= 2:
            found = max(found, FREE_STEP if moved == 2 else STEP)
    return found


def _strangeness(
    notes: tuple[Note, ...], starts: list[int], ends: list[int], beats: list[int], weak: list[bool]
) -> list[int]:
    """How easily each note passes for a non-chord note, from what its voice does around it."""
    rows: dict[tuple[int, str], list[int]] = {}
    for i, note in enumerate(notes):
        rows.setdefault((note.staff, note.voice), []).append(i)
    before: list[int] = [0] * len(notes)
    after: list[int] = [0] * len(notes)
    for row in rows.values():
        groups: list[list[int]] = []
        for i in row:
            if groups and starts[groups[-1][0]] == starts[i]:
                groups[-1].append(i)
            else:
                groups.append([i])
        for one, two in pairwise(groups):
            gap = starts[two[0]] - max(ends[i] for i in one)
            if gap >= beats[one[0]]:
                continue
            later = [(notes[i].midi, notes[i].pitch.diatonic) for i in two]
            earlier = [(notes[i].midi, notes[i].pitch.diatonic) for i in one]
            for i in one:
                after[i] = _near(later, notes[i])
            for i in two:
                before[i] = _near(earlier, notes[i])
    out = []
    for i in range(len(notes)):
        odds = weights.STRANGER
        reached = before[i] in {STEP, FREE_STEP}
        if after[i] == STEP or (after[i] == FREE_STEP and reached):
            odds += weights.STEP_AWAY
            if before[i] == SAME:
                odds += weights.HELD_OVER
        if reached:
            odds += weights.STEP_TOWARDS
        if weak[i]:
            odds += weights.WEAK
        out.append(round(odds * 1000))
    return out


def gather(piece: Piece) -> Evidence | None:
    """The evidence of `piece`, None where it has no note. Linear in notes."""
    notes, starts, ends, ticks = tick_rows(piece)
    if not notes:
        return None
    attacks: dict[int, set[int]] = {}
    for note, start in zip(notes, starts, strict=True):
        attacks.setdefault(start, set()).add(note.midi % 12)
    grid = grid_of(piece, ticks, attacks)
    edges = np.array([*grid.starts, max(grid.end, max(ends))], dtype=np.int64)
    begin, finish = np.array(starts), np.array(ends)
    first = np.searchsorted(edges, begin, side="right") - 1
    last = np.maximum(np.searchsorted(edges, finish, side="left") - 1, first)
    beat = np.array(grid.beats, dtype=np.int64)
    beats = beat[first].tolist()
    weak = [
        (grid.levels[a] < BEAT or s != grid.starts[a]) and 2 * (e - s) <= b
        for a, s, e, b in zip(first.tolist(), starts, ends, beats, strict=True)
    ]
    strangeness = np.array(_strangeness(notes, starts, ends, beats, weak), dtype=np.int64)
    return _spread(grid, edges, beat, notes, begin, finish, first, last, strangeness, ticks)


def _spread(
    grid: Grid, edges: Array, beat: Array, notes: tuple[Note, ...],
    begin: Array, finish: Array, first: Array, last: Array, strangeness: Array, ticks: int,
) -> Evidence:  # fmt: skip
    """Lay every note over the atoms in which it sounds."""
    count = last - first + 1
    which = np.repeat(np.arange(len(notes)), count)
    atom = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count) + first[which]
    overlap = np.minimum(finish[which], edges[atom + 1]) - np.maximum(begin[which], edges[atom])
    share = np.minimum(overlap * UNIT // beat[atom], int(weights.LONGEST_BEATS * UNIT))
    ago = np.maximum(edges[atom] - begin[which], 0)
    share = np.where(ago >= HELD_BEATS * beat[atom], share * HELD_SHARE // 100, share)
    weight = share + np.where(atom == first[which], int(weights.ATTACK_SHARE * UNIT), 0)
    place = np.array([n.pitch.fifths for n in notes])
    low = int(place.min())
    width = int(place.max()) - low + 1
    column = place[which] - low
    shape = (len(grid.starts), width)
    loudest = np.zeros(shape, dtype=np.int64)
    total = np.zeros(shape, dtype=np.int64)
    strange = np.zeros(shape, dtype=np.int64)
    np.maximum.at(loudest, (atom, column), weight)
    np.add.at(total, (atom, column), weight)
    np.add.at(strange, (atom, column), weight * strangeness[which])
    doubling = int(weights.DOUBLING_SHARE * 100)
    sound = (loudest * (100 - doubling) + total * doubling) // 100
    mean = strange // np.maximum(total, 1)
    midi = np.array([n.midi for n in notes])
    length = np.minimum(np.diff(edges) * UNIT // beat, UNIT)
    bass, bass_news = _bass(shape, atom, column, midi[which], share, length, grid)
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
        ticks,
    )


def _floors(lowest: list[int], sets: list[set[int]], grid: Grid) -> list[int]:
    """The bass that the ear holds on to at each atom: the lowest note of the beat so far, carried
    over the bar where what follows is only the rest of the chord, left alone or leapt up to.
    """
    floor = list(lowest)
    for i in range(1, len(floor)):
        if grid.bars[i] != grid.bars[i - 1] or floor[i] <= floor[i - 1]:
            continue
        two = sorted(sets[i])[:2]
        alone = all(m in sets[i - 1] for m in two)
        if grid.levels[i] < BEAT or floor[i] > floor[i - 1] + BASS_LEAP or alone:
            floor[i] = floor[i - 1]
    return floor


def _bass(
    shape: tuple[int, int], atom: Array, column: Array, midi: Array, share: Array,
    length: Array, grid: Grid,
) -> tuple[Array, Array]:  # fmt: skip
    """Weight of the lowest note of every atom, less where its beat has gone lower; and how much of
    it is news.

    A lowest note that fills at least half of its atom, or opens it as broken chords do, stands for
    the whole atom.
    """
    sets: list[set[int]] = [set() for _ in range(shape[0])]
    for a, m in zip(atom.tolist(), midi.tolist(), strict=True):
        sets[a].add(m)
    lowest = [min(s) for s in sets]
    floors = _floors(lowest, sets, grid)
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
