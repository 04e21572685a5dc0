"""The moments at which notes begin, with what begins and what still sounds: the ground of `melody`.

A *slice* is the stretch from one attack to the next attack anywhere in the piece. Everything here is
in whole ticks and indices, so that the work per note stays small. Voice numbers are not read: what
is said of a piece is the same however its voices are numbered.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from functools import cached_property

from passagework.score.piece import Piece

RIGHT, LEFT = 0, 1

USUAL_AROUND = 6
"""Slices before and after whose median length is the usual one."""

WEIGHT_RANGE = (0.4, 3.0)
"""Least and greatest weight of a slice."""

HIGHEST_KEY = 127
"""The largest MIDI number; a mirrored pitch is its distance from there."""

SILENT_TOP = -1
"""Stands for the highest pitch where nothing sounds."""

SILENT_LOW = 1000
"""Stands for the lowest pitch where nothing sounds."""


HEARD_ON = 24
"""Slices for which a note that has ended may be heard on over a figure: four beats of sextuplets."""

WRITTEN_LONG = 6
"""Slices of being heard on that a note gives up for each slice it sounds: one written long needs none."""

APART = 3
"""Semitones that the rest of the hand must keep away for an ended note to be heard on."""


@dataclass(frozen=True, slots=True)
class Attacks:
    """The notes of a piece without grace notes, as columns; row numbers are *indices*."""

    ids: list[str]
    note: list[int]
    """Place of each row in `Piece.notes`."""
    onset: list[int]
    end: list[int]
    pitch: list[int]
    hand: list[int]
    """`RIGHT` or `LEFT`."""
    small: list[bool]
    """Whether the note is printed small (a figure's or a cadenza's notes often are)."""
    first: list[int]
    """Slice in which the note begins."""
    past: list[int]
    """First slice in which it no longer sounds."""


@dataclass(frozen=True)
class Slices:
    """What begins and sounds in each slice."""

    ticks: list[int]
    end: int
    """Tick at which the last note ends."""
    begins: list[list[int]]
    """Indices of the notes that begin in the slice, from low to high."""
    sounding: list[list[int]]
    """Indices of the notes that sound in it, those that begin included."""
    attacks: Attacks

    def __len__(self) -> int:
        return len(self.ticks)

    @cached_property
    def tops(self) -> tuple[list[int], list[int]]:
        """For every slice the highest pitch that each hand sounds, `SILENT_TOP` where it is silent."""
        return _hand_tops(self)

    @cached_property
    def heard(self) -> list[int]:
        """For every note the slice until which the ear keeps it as a top note (see `_heard_until`)."""
        return _heard_until(self)

    @cached_property
    def weights(self) -> list[float]:
        """For every slice what it counts for: the root of its length against the usual one there.

        Long slices count more, but not in proportion: a held chord does not outweigh a bar.
        """
        return _slice_weights(self)

    def length(self, at: int) -> int:
        """Ticks from the slice's attack to the next one."""
        after = (
            self.ticks[at + 1] if at + 1 < len(self.ticks) else max(self.end, self.ticks[at] + 1)
        )
        return after - self.ticks[at]


def cut_slices(piece: Piece) -> Slices:
    """Cut `piece` at every attack. An empty piece gives no slices."""
    per_quarter = piece.ticks_per_quarter
    ids: list[str] = []
    rows: list[int] = []
    onset: list[int] = []
    end: list[int] = []
    pitch: list[int] = []
    hand: list[int] = []
    small: list[bool] = []
    for place, note in enumerate(piece.notes):
        if note.grace or not note.duration:
            continue
        start, length = note.onset, note.duration
        begin = start.numerator * (per_quarter // start.denominator)
        ids.append(note.id)
        rows.append(place)
        onset.append(begin)
        end.append(begin + length.numerator * (per_quarter // length.denominator))
        pitch.append(note.pitch.midi)
        small.append(note.cue)
        hand.append(RIGHT if note.hand == "right" else LEFT)
    ticks = sorted(set(onset))
    place_of = {tick: at for at, tick in enumerate(ticks)}
    first = [place_of[t] for t in onset]
    past = [place_of.get(t, -1) for t in end]
    past = [bisect_left(ticks, end[i]) if at < 0 else at for i, at in enumerate(past)]
    begins: list[list[int]] = [[] for _ in ticks]
    for i, at in enumerate(first):
        begins[at].append(i)
    attacks = Attacks(ids, rows, onset, end, pitch, hand, small, first, past)
    sounding: list[list[int]] = []
    active: list[int] = []
    for at, started in enumerate(begins):
        started.sort(key=lambda i: (pitch[i], hand[i], end[i], i))
        active = [i for i in active if past[i] > at]
        active += started
        sounding.append(active)
    return Slices(ticks, max(end, default=0), begins, sounding, attacks)


def mirrored(slices: Slices) -> Slices:
    """The same notes upside down, so that the lowest line of `slices` is the highest of the result."""
    rows = slices.attacks
    return replace(
        slices,
        begins=[begins[::-1] for begins in slices.begins],
        attacks=replace(rows, pitch=[HIGHEST_KEY - p for p in rows.pitch]),
    )


def _hand_tops(slices: Slices) -> tuple[list[int], list[int]]:
    """For every slice the highest pitch that each hand sounds, `SILENT_TOP` where it is silent."""
    rows = slices.attacks
    right, left = [SILENT_TOP] * len(slices), [SILENT_TOP] * len(slices)
    for at, sounding in enumerate(slices.sounding):
        for i in sounding:
            row = right if rows.hand[i] == RIGHT else left
            if rows.pitch[i] > row[at]:
                row[at] = rows.pitch[i]
    return right, left


def _heard_until(slices: Slices) -> list[int]:
    """For every note the slice until which the ear keeps it as a top note (the first slice after it).

    That is where it ends or, where its own hand goes on below it and comes back within `APART`
    semitones of it (a figure under a tune), the slice of that return; no further than `HEARD_ON`
    and `WRITTEN_LONG` allow.
    """
    rows = slices.attacks
    tops = slices.tops
    size = len(slices)
    result: list[int] = []
    for i, past in enumerate(rows.past):
        row, limit = tops[rows.hand[i]], rows.pitch[i] - APART
        at = past
        if row[rows.first[i]] <= rows.pitch[i]:
            last = min(size, at + max(0, HEARD_ON - WRITTEN_LONG * (past - rows.first[i])))
            while at < last and 0 <= row[at] <= limit:
                at += 1
            if at >= last or row[at] == SILENT_TOP:
                at = past
        result.append(at)
    return result


def _slice_weights(slices: Slices) -> list[float]:
    lengths = [slices.length(at) for at in range(len(slices))]
    low, high = WEIGHT_RANGE
    weights: list[float] = []
    for at, length in enumerate(lengths):
        window = sorted(lengths[max(0, at - USUAL_AROUND) : at + USUAL_AROUND + 1])
        usual = window[len(window) // 2]
        weights.append(min(high, max(low, (length / usual) ** 0.5)))
    return weights
