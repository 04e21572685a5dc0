"""What is measured of each note before it is weighed as tune or bass.

Every feature compares a note with what sounds at the same time or close by in slices, so neither a
transposition nor a change of all note values changes it. On mirrored slices "above" is below.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from itertools import accumulate, pairwise
from math import log2

from passagework.analysis.melody_slices import RIGHT, SILENT_TOP, Slices

NEAR = 10
"""Slices before and after a note that are its neighbourhood: about two beats of sixteenths."""

CLOSE = 2
"""Slices before and after in which the other hand is looked at."""

OFTEN = 4
"""A pitch that comes back this often in its neighbourhood is wholly a figure of accompaniment."""

OFTEN_IN_FIGURE = 3
"""The same where the hand goes round in a figure."""

PERIODS = (2, 3, 4, 5, 6, 8, 10, 12, 16)
"""Attacks after which a figure of accompaniment is looked for again."""

TURNING = (0.3, 0.7)
"""Share of the moving notes that return after the period: none and all of a figure."""

FEW_MOVES = 3
"""Moving notes in the neighbourhood below which nothing is said about a figure ..."""

STANDING = 0.5
"""... and this share is assumed."""

LINE_FIGURE = 0.4
"""How much a pitch that comes back counts as a figure where the hand does not go round."""

HALF_A_FIGURE = 0.8
"""Recurrence from which a note's being heard on is not counted."""

AROUND = 6
"""Slices before and after in which a higher note makes a valley: one group of a sextuplet figure."""

DEEP = 4
"""Semitones below the hand's tops that make a valley: more than the steps and thirds of a tune."""

LONGNESS_RANGE = (-1.5, 2.5)
"""Doublings of the usual length that are told apart."""


def _windows(values: Sequence[float], near: int) -> list[float]:
    """For every place the sum of `values` from `near` places before it to `near` after."""
    sums = [0, *accumulate(values)]
    padded = [*[0] * near, *sums, *[sums[-1]] * near]
    return [b - a for a, b in zip(padded, padded[2 * near + 1 :], strict=False)]


def top_shares(slices: Slices) -> list[float]:
    """For every note the share of its slices in which nothing sounds above it."""
    rows = slices.attacks
    tops = [max((rows.pitch[i] for i in s), default=SILENT_TOP) for s in slices.sounding]
    held = [0] * len(rows.ids)
    for top, sounding in zip(tops, slices.sounding, strict=True):
        for i in sounding:
            if rows.pitch[i] == top:
                held[i] += 1
    return [held[i] / max(1, rows.past[i] - rows.first[i]) for i in range(len(held))]


def longness_of(slices: Slices, figure: list[float]) -> list[float]:
    """Doublings of the time each note is heard against the geometric mean of the lengths around it.

    The peak of a figure that only turns in place is not heard on: its written length counts.
    """
    rows = slices.attacks
    logs = [log2(end - onset) for onset, end in zip(rows.onset, rows.end, strict=True)]
    size = len(slices)
    sums, counts = [0.0] * size, [0] * size
    for log, at in zip(logs, rows.first, strict=True):
        sums[at] += log
        counts[at] += 1
    means = [
        total / count if count else 0.0
        for total, count in zip(_windows(sums, NEAR), _windows(counts, NEAR), strict=True)
    ]
    low, high = LONGNESS_RANGE
    result: list[float] = []
    for i, until in enumerate(slices.heard):
        if figure[i] > HALF_A_FIGURE:
            until = rows.past[i]
        heard = slices.ticks[until] if until < size else slices.end
        log = log2(max(heard, rows.end[i]) - rows.onset[i])
        result.append(min(high, max(low, log - means[rows.first[i]])))
    return result


def figure_share(slices: Slices) -> list[float]:
    """0 to 1: how often the note's own hand strikes the same pitch again close by."""
    rows = slices.attacks
    struck: dict[tuple[int, int], list[int]] = defaultdict(list)
    for i in range(len(rows.ids)):
        struck[rows.hand[i], rows.pitch[i]].append(i)
    again = [0] * len(rows.ids)
    for same in struck.values():
        low = high = 0
        for i in same:
            at = rows.first[i]
            while rows.first[same[low]] < at - NEAR:
                low += 1
            while high < len(same) and rows.first[same[high]] <= at + NEAR:
                high += 1
            again[i] = high - low - 1
    turning = (_turning(slices, RIGHT), _turning(slices, 1 - RIGHT))
    result: list[float] = []
    for count, hand, at in zip(again, rows.hand, rows.first, strict=True):
        round_ = turning[hand][at]
        line = LINE_FIGURE * min(1.0, count / OFTEN)
        result.append(round_ * min(1.0, count / OFTEN_IN_FIGURE) + (1.0 - round_) * line)
    return result


def _turning(slices: Slices, side: int) -> list[float]:
    """For every slice how far the hand's tops go round in a figure there, 0 to 1.

    That is the share of the moving tops (those unlike the one before) around the slice that are what
    they were some `PERIODS` attacks ago, for the period that fits best.
    """
    rows = slices.attacks
    at_slice: list[int] = []
    tops: list[int] = []
    for at, begins in enumerate(slices.begins):
        own = [rows.pitch[i] for i in begins if rows.hand[i] == side]
        if own:
            at_slice.append(at)
            tops.append(max(own))
    if not tops:
        return [0.0] * len(slices)
    moves = [False] + [a != b for a, b in pairwise(tops)]
    moving = _windows(moves, NEAR)
    rounds = [
        _windows(
            [False] * min(p, len(tops))
            + [
                top == before and moved
                for top, before, moved in zip(tops[p:], tops, moves[p:], strict=False)
            ],
            NEAR,
        )
        for p in PERIODS
    ]
    result = [0.0] * len(slices)
    low, high = TURNING
    for at, count, best in zip(at_slice, moving, map(max, *rounds), strict=True):
        share = best / count if count >= FEW_MOVES else STANDING
        result[at] = min(1.0, max(0.0, (share - low) / (high - low)))
    return result


def valleys(slices: Slices) -> list[bool]:
    """Whether the hand's tops rise `DEEP` semitones above each note within `AROUND` slices on both sides."""
    rows = slices.attacks
    highest: list[tuple[list[int], list[int]]] = []
    edge = [SILENT_TOP] * AROUND
    for row in slices.tops:
        padded = [*edge, *row, *edge]
        before = [max(padded[at : at + AROUND]) for at in range(len(row))]
        highest.append((before, [*before[AROUND + 1 :], *_last_maxima(padded, len(row))]))
    result: list[bool] = []
    for i, pitch in enumerate(rows.pitch):
        before, after = highest[rows.hand[i]]
        at = rows.first[i]
        result.append(before[at] - pitch >= DEEP and after[at] - pitch >= DEEP)
    return result


def _last_maxima(padded: list[int], size: int) -> list[int]:
    """The largest of the `AROUND` values after each of the last `AROUND` + 1 places of a padded row."""
    first = max(0, size - AROUND - 1)
    return [max(padded[at + AROUND + 1 : at + 2 * AROUND + 1]) for at in range(first, size)]


def only_lines(slices: Slices, accompanying: list[bool]) -> list[bool]:
    """Whether each note is no accompaniment while everything the other hand strikes nearby is."""
    rows = slices.attacks
    size = len(slices)
    struck, free = ([0] * size, [0] * size), ([0] * size, [0] * size)
    for at, hand, follows in zip(rows.first, rows.hand, accompanying, strict=True):
        struck[hand][at] += 1
        free[hand][at] += not follows
    near = [
        [
            count > 1 and not loose
            for count, loose in zip(_windows(s, CLOSE), _windows(f, CLOSE), strict=True)
        ]
        for s, f in zip(struck, free, strict=True)
    ]
    return [
        not follows and near[1 - hand][at]
        for at, hand, follows in zip(rows.first, rows.hand, accompanying, strict=True)
    ]


def repeated_chords(slices: Slices) -> list[bool]:
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


def lesser_among(slices: Slices, lesser: list[bool]) -> list[bool]:
    """Whether each note is a lesser one while its hand has greater ones close by, before and after.

    So a cadenza printed small, which has no full-size notes around, is not taken for a figure.
    """
    rows = slices.attacks
    result = [False] * len(lesser)
    if not any(lesser) or all(lesser):
        return result
    size = len(slices)
    greater = ([0] * size, [0] * size)
    for at, hand, is_lesser in zip(rows.first, rows.hand, lesser, strict=True):
        if not is_lesser:
            greater[hand][at] = 1
    sums = [[0, *accumulate(row)] for row in greater]
    for i, is_lesser in enumerate(lesser):
        if is_lesser:
            at, row = rows.first[i], sums[rows.hand[i]]
            before = row[at + 1] - row[max(0, at - NEAR)]
            after = row[min(size, at + NEAR + 1)] - row[at]
            result[i] = before > 0 and after > 0
    return result


def rare_nearby(slices: Slices, flagged: list[bool]) -> list[float]:
    """For each flagged note the share of its hand's notes nearby that are not, 0 for the others.

    A sign on every note is a way of playing; a sign on a few singles them out.
    """
    rows = slices.attacks
    if not any(flagged):
        return [0.0] * len(flagged)
    size = len(slices)
    total, marked = ([0] * size, [0] * size), ([0] * size, [0] * size)
    for at, hand, flag in zip(rows.first, rows.hand, flagged, strict=True):
        total[hand][at] += 1
        marked[hand][at] += flag
    near = [[(_windows(t, NEAR)), (_windows(m, NEAR))] for t, m in zip(total, marked, strict=True)]
    return [
        1.0 - near[hand][1][at] / near[hand][0][at] if flag else 0.0
        for at, hand, flag in zip(rows.first, rows.hand, flagged, strict=True)
    ]


def place_in_hand(slices: Slices) -> tuple[list[bool], list[bool], list[bool]]:
    """Whether each note is inside a chord of its hand, under shorter notes only, or its top.

    Inside: something above it is struck with it and lasts as long; such a note belongs to the chord.
    Under: all that is struck above it is let go before half of it is over, so it is a line of its own.
    """
    rows = slices.attacks
    inside = [False] * len(rows.ids)
    under = [False] * len(rows.ids)
    outside = [False] * len(rows.ids)
    for begins in slices.begins:
        longest = [0, 0]
        for i in reversed(begins):
            length, above = rows.end[i] - rows.onset[i], longest[rows.hand[i]]
            if not above:
                outside[i] = True
            elif 2 * above <= length:
                under[i] = True
            else:
                inside[i] = True
            longest[rows.hand[i]] = max(above, length)
    return inside, under, outside
