"""How much each note asks to be heard as tune, and as bass, before its neighbours are looked at.

Every feature is a comparison with what sounds at the same time or close by, so neither a
transposition nor a change of note values changes it.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from math import log2

from passagework.analysis.melody_slices import (
    RIGHT,
    SILENT_LOW,
    SILENT_TOP,
    Slices,
    hand_tops,
    heard_until,
)
from passagework.score.piece import Note, Piece

NEAR = 10
"""Slices before and after a note that are its neighbourhood: about two beats of sixteenths."""

OFTEN = 4
"""A pitch that comes back this often in its neighbourhood is wholly a figure of accompaniment."""

HALF_A_FIGURE = 0.8
"""Recurrence from which a note's being heard on is not counted."""

AROUND = 6
"""Slices before and after in which a higher note makes a valley: one group of a sextuplet figure."""

DEEP = 4
"""Semitones below the hand's tops that make a valley: more than the steps and thirds of a tune."""

LONGNESS_RANGE = (-1.5, 2.5)
"""Doublings of the usual length that are told apart."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What each feature is worth, in the unit of the path's costs (see `melody_path`).

    The signs are the textbook's: the tune is on top, longer than its surroundings, on the outside of
    its hand, and not a figure that repeats (Huron, 2001; Uitdenbogerd and Zobel, 1999, on the skyline).
    The sizes were set on concert performances, where a tune is played louder (Goebl, 2001): see
    `bench/melody.py`, which prints how much louder the notes found are than those around them.
    """

    level: float = -0.4
    top: float = 1.25
    """Share of the note's time in which nothing sounds above it."""
    outside_of_hand: float = 0.3
    inside_of_hand: float = -1.0
    lowest: float = -0.45
    longness: float = 0.22
    figure: float = -0.8
    repeated_chord: float = -0.6
    """In a chord that its hand has just struck or strikes again next."""
    valley: float = -0.5
    """Well below the hand's top notes both just before and just after: the filling of a figure."""
    small: float = -1.0
    """Printed small among notes of full size in the same hand."""
    marked: float = 0.4
    unmarked: float = -0.25
    """Without a sign among notes of the same hand that have one."""
    singing_words: float = 0.5
    subject: float = 3.0
    taken: float = -2.0
    """For the bass: a note that is the tune's."""


TUNE = Weights()

BASS = Weights(
    level=-0.55, top=1.2, outside_of_hand=0.2, inside_of_hand=-0.9, lowest=-0.6, longness=0.3,
    figure=-0.2, small=-0.2,
    marked=0.0, unmarked=0.0, singing_words=0.0, subject=0.0, repeated_chord=0.0,
)  # fmt: skip
"""The same for the bass, on the mirrored slices: a bass repeats its notes and still is the bass."""

MARKS = frozenset({"tenuto", "accent", "strong-accent", "detached-legato"})
"""Signs on single notes that ask for them to be brought out."""

SINGING = (
    "cantando", "cantabile", "canto", "melodia", "marcato il", "marcata", "ben cantato", "sopra",
    "gesang", "singend", "hervor", "en dehors", "chant", "tema", "thema",
)  # fmt: skip
"""Parts of words that ask for one line to be brought out (Italian, German, French)."""


@dataclass(frozen=True, slots=True)
class Salience:
    """Per note index: the worth of a slice of it as tune; and the features that made it."""

    worth: list[float]
    top_share: list[float]
    longness: list[float]
    figure: list[float]
    inside: list[bool]
    """Whether its own hand strikes a note above and it is neither the top nor alone."""


def weigh_notes(
    piece: Piece, slices: Slices, subject: frozenset[int], weights: Weights = TUNE
) -> Salience:
    """Salience of every row of `slices.attacks`."""
    rows = slices.attacks
    top_share = _top_shares(slices)
    figure = _figure(slices)
    longness = _longness(slices, figure)
    inside, outside = _place_in_hand(slices)
    lows = [min((rows.pitch[i] for i in s), default=SILENT_LOW) for s in slices.sounding]
    valley = _valleys(slices)
    again = _repeated_chords(slices)
    small = _lesser_among(slices, rows.small)
    bare = [not piece.notes[place].articulations & MARKS for place in rows.note]
    unmarked = _lesser_among(slices, bare)
    sung = _sung_stretches(piece)
    worth: list[float] = []
    for i in range(len(rows.ids)):
        note = piece.notes[rows.note[i]]
        value = weights.level + weights.top * top_share[i]
        value += weights.longness * longness[i] + weights.figure * figure[i]
        if inside[i]:
            value += weights.inside_of_hand
        elif outside[i]:
            value += weights.outside_of_hand
        if rows.pitch[i] == lows[rows.first[i]] and len(slices.sounding[rows.first[i]]) > 1:
            value += weights.lowest
        if again[i]:
            value += weights.repeated_chord
        if valley[i]:
            value += weights.valley
        if small[i]:
            value += weights.small
        if unmarked[i]:
            value += weights.unmarked
        elif not bare[i]:
            value += weights.marked
        if sung and _is_sung(note, sung) and not inside[i]:
            value += weights.singing_words
        if i in subject:
            value += weights.subject
        worth.append(value)
    return Salience(worth, top_share, longness, figure, inside)


def _top_shares(slices: Slices) -> list[float]:
    """For every note the share of its slices in which nothing sounds above it."""
    rows = slices.attacks
    tops = [max((rows.pitch[i] for i in s), default=SILENT_TOP) for s in slices.sounding]
    held = [0] * len(rows.ids)
    for top, sounding in zip(tops, slices.sounding, strict=True):
        for i in sounding:
            if rows.pitch[i] == top:
                held[i] += 1
    return [held[i] / max(1, rows.past[i] - rows.first[i]) for i in range(len(held))]


def _longness(slices: Slices, figure: list[float]) -> list[float]:
    """Doublings of the time each note is heard against the geometric mean of the lengths around it.

    The peak of a figure that only turns in place is not heard on: its written length counts.
    """
    rows = slices.attacks
    logs = [log2(rows.end[i] - rows.onset[i]) for i in range(len(rows.ids))]
    size = len(slices)
    sums, counts = [0.0], [0]
    for begins in slices.begins:
        sums.append(sums[-1] + sum(logs[i] for i in begins))
        counts.append(counts[-1] + len(begins))
    low, high = LONGNESS_RANGE
    result: list[float] = []
    for i, until in enumerate(heard_until(slices)):
        if figure[i] > HALF_A_FIGURE:
            until = rows.past[i]
        heard = slices.ticks[until] if until < size else slices.end
        log = log2(max(heard, rows.end[i]) - rows.onset[i])
        a, b = max(0, rows.first[i] - NEAR), min(size, rows.first[i] + NEAR + 1)
        mean = (sums[b] - sums[a]) / max(1, counts[b] - counts[a])
        result.append(min(high, max(low, log - mean)))
    return result


def _figure(slices: Slices) -> list[float]:
    """0 to 1: how often the note's own hand strikes the same pitch again close by."""
    rows = slices.attacks
    struck: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i in range(len(rows.ids)):
        struck[rows.hand[i], rows.pitch[i]].append(i)
    result = [0.0] * len(rows.ids)
    for same in struck.values():
        low = high = 0
        for i in same:
            at = rows.first[i]
            while rows.first[same[low]] < at - NEAR:
                low += 1
            while high < len(same) and rows.first[same[high]] <= at + NEAR:
                high += 1
            result[i] = min(1.0, (high - low - 1) / OFTEN)
    return result


def _valleys(slices: Slices) -> list[bool]:
    """Whether the hand's tops rise `DEEP` semitones above each note within `AROUND` slices on both sides."""
    rows = slices.attacks
    highest: list[tuple[list[int], list[int]]] = []
    for row in hand_tops(slices):
        before = [max(row[max(0, at - AROUND) : at], default=SILENT_TOP) for at in range(len(row))]
        after = [max(row[at + 1 : at + 1 + AROUND], default=SILENT_TOP) for at in range(len(row))]
        highest.append((before, after))
    result: list[bool] = []
    for i, pitch in enumerate(rows.pitch):
        before, after = highest[rows.hand[i]]
        at = rows.first[i]
        result.append(before[at] - pitch >= DEEP and after[at] - pitch >= DEEP)
    return result


def _repeated_chords(slices: Slices) -> list[bool]:
    """Whether each note is in a chord whose pitches are all struck again, or were just struck, by its hand."""
    rows = slices.attacks
    result = [False] * len(rows.ids)
    for side in (RIGHT, 1 - RIGHT):
        before: list[int] = []
        for begins in slices.begins:
            chord = [i for i in begins if rows.hand[i] == side]
            if not chord:
                continue
            same = len(chord) > 1 and [rows.pitch[i] for i in chord] == [
                rows.pitch[i] for i in before
            ]
            for i in (*chord, *before) if same else ():
                result[i] = True
            before = chord
    return result


def _lesser_among(slices: Slices, lesser: list[bool]) -> list[bool]:
    """Whether each note is a lesser one while its hand has greater ones close by, before and after.

    So a cadenza printed small, which has no full-size notes around, is not taken for a figure.
    """
    rows = slices.attacks
    result = [False] * len(lesser)
    if not any(lesser) or all(lesser):
        return result
    sums = [[0], [0]]
    for begins in slices.begins:
        for side in (RIGHT, 1 - RIGHT):
            greater = any(rows.hand[i] == side and not lesser[i] for i in begins)
            sums[side].append(sums[side][-1] + greater)
    for i, is_lesser in enumerate(lesser):
        if is_lesser:
            at, row = rows.first[i], sums[rows.hand[i]]
            before = row[at + 1] - row[max(0, at - NEAR)]
            after = row[min(len(slices), at + NEAR + 1)] - row[at]
            result[i] = before > 0 and after > 0
    return result


def _place_in_hand(slices: Slices) -> tuple[list[bool], list[bool]]:
    """Whether each note is inside a chord of its hand (something above it), or its top."""
    rows = slices.attacks
    inside = [False] * len(rows.ids)
    outside = [False] * len(rows.ids)
    for begins in slices.begins:
        seen = {RIGHT: 0, 1 - RIGHT: 0}
        for i in reversed(begins):
            if seen[rows.hand[i]]:
                inside[i] = True
            else:
                outside[i] = True
            seen[rows.hand[i]] += 1
    return inside, outside


def _sung_stretches(piece: Piece) -> list[tuple[int, int, int]]:
    """(first bar, bar after the last, staff) that singing words govern: to the next words."""
    stretches: list[tuple[int, int, int]] = []
    for at, words in enumerate(piece.words):
        text = words.text.lower()
        if not any(part in text for part in SINGING):
            continue
        later = (w.bar for w in piece.words[at + 1 :] if w.bar > words.bar)
        stretches.append((words.bar, next(later, len(piece.bars)), words.staff))
    return stretches


def _is_sung(note: Note, stretches: list[tuple[int, int, int]]) -> bool:
    return any(a <= note.bar < b and note.staff == staff for a, b, staff in stretches)
