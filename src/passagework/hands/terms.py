"""What a movement of the hand costs, term by term, before any weight.

One table per kind of pair, all for a right hand and for one finger after (or with) another:

* `step_terms`: finger `f` on one key, then finger `g` on another, the next attack of the hand;
* `skip_terms`: the same over one attack in between, which is what tells a position from a pair;
* `chord_terms`: two fingers down at once.

The quantities follow the ergonomic models of Parncutt, Sloboda, Clarke, Raekallio and Desain (1997:
stretch and span rules, position changes, weak fingers, three to four, thumb and five on black, thumb
passing), with distances measured on the keyboard and not in semitones (Jacobs, 2001) and simultaneous
fingers treated like successive ones (Al Kasimi, Nichols and Raphael, 2007). They know nothing of the
size of the hand: that enters with the weight of the stretch and with what is out of reach.
"""

from __future__ import annotations

from enum import IntEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from passagework.hands.hand import COMFORTABLE_SEMITONES, LARGEST_SEMITONES
from passagework.hands.keyboard import is_black
from passagework.hands.spans import CROSSED_SEMITONES, RELAXED_SEMITONES, span_semitones

Table = NDArray[np.float64]

_JUST_CLOSE = 1.0
"""Semitones that a pair may be closer than relaxed without being felt as cramped."""

_SEMITONE_HOP = 1.4
"""A finger that goes on to the very next key breaks the line more plainly than one that leaps."""

_BEHIND = 2.2
"""The same for the third finger on the black key right behind the thumb: the grip of the chromatic scale."""

_CLOSED = 1.5
"""Semitones of cramping from which on the hand is rather moved than closed."""

_WIDE_BY_TWO = 0.6
"""The thumb passes under the second finger more widely than under the others (the table's "MinPrac")."""


class Term(IntEnum):
    """Kinds of cost. The words shown to a teacher are in `passagework.hands.reasons`."""

    STRETCH = 0
    CRAMPED = 1
    SHIFT = 2
    JUMP = 3
    PASS = 4
    PASS_ONTO_BLACK = 5
    PASS_FROM_BLACK = 6
    PASS_WIDE = 7
    PASS_BY_FOUR = 8
    PASS_BY_TWO = 9
    PASS_BY_FIVE = 10
    CROSS = 11
    HOP = 12
    CHANGE = 13
    REPEAT = 14
    THUMB_BLACK = 15
    FIVE_BLACK = 16
    THREE_FOUR = 17
    FOUR_FIVE = 18
    FOUR_BLACK = 19
    SKIP_STRETCH = 20
    SKIP_HOP = 21
    SKIP_CHANGE = 22
    SKIP_THUMB = 23
    CHORD_STRETCH = 24
    CHORD_CRAMPED = 25
    CHORD_WEAK = 26
    THUMB_ON_BLACK = 27
    FIVE_ON_BLACK = 28
    WEAK = 29
    SUBSTITUTION = 30
    SHIFT_FAR = 31
    BLOCK_CHANGE = 32
    BLOCK_CROSS = 33
    BLOCK_HOP = 34
    ORNAMENT = 35
    SPARED = 36
    STRETCH_TWO_THREE = 37
    STRETCH_THREE_FOUR = 38
    STRETCH_FOUR_FIVE = 39
    STRETCH_OUTER = 40
    PASS_WIDE_BY_FOUR = 41
    CHORD_STRETCH_INNER = 42
    NARROW = 43
    CRAMPED_INNER = 44
    SKIP_NARROW = 45
    THUMB_BLACK_STEP = 46
    FIVE_BLACK_STEP = 47


TERMS = len(Term)

_STRETCH_OF = {
    (2, 3): Term.STRETCH_TWO_THREE,
    (3, 4): Term.STRETCH_THREE_FOUR,
    (4, 5): Term.STRETCH_FOUR_FIVE,
    (2, 4): Term.STRETCH_OUTER,
    (2, 5): Term.STRETCH_OUTER,
    (3, 5): Term.STRETCH_OUTER,
}

STRETCHES = (
    Term.STRETCH,
    *dict.fromkeys(_STRETCH_OF.values()),
    Term.SKIP_STRETCH,
    Term.CHORD_STRETCH,
    Term.CHORD_STRETCH_INNER,
)
"""Every term that measures how far a hand is opened; they count more for a smaller hand."""

_NATURAL_SEMITONES = (0.0, 12 / 7, 24 / 7, 36 / 7, 48 / 7)
"""Where the fingers lie in the five-finger position, from the thumb: neighbouring white keys."""

_SHIFT_NEAR = 4.0
"""Semitones of displacement up to which the hand turns or opens rather than travels."""


@lru_cache(maxsize=16384)
def step_terms(pc: int, interval: int) -> Table:
    """Terms for the key `pc` (pitch class), then the key `interval` semitones above it.

    Shape ``(TERMS, 5, 5)``: term, finger on the first key, finger on the second (index 0 is the thumb).
    """
    table = np.zeros((TERMS, 5, 5))
    for f in range(1, 6):
        for g in range(1, 6):
            cell = table[:, f - 1, g - 1]
            if interval == 0:
                cell[Term.REPEAT if f == g else Term.CHANGE] = 1.0
            elif f == g:
                cell[Term.HOP] = _SEMITONE_HOP if abs(interval) == 1 else 1.0
                _travel(cell, span_semitones(pc + 24, pc + 24 + interval))
            elif (g > f) == (interval > 0):
                _straight(cell, f, g, pc, interval)
            elif 1 in (f, g):
                _passing(cell, f, g, pc, interval)
            else:
                cell[Term.CROSS] = 1.0
                _travel(cell, _displacement(f, g, pc, interval))
            if interval:
                _colours(cell, f, g, pc, interval)
    table.setflags(write=False)
    return table


def _displacement(f: int, g: int, pc: int, interval: int) -> float:
    """Semitones by which the five-finger position moves from finger `f` here to `g` there."""
    way = span_semitones(pc + 24, pc + 24 + interval) * (1 if interval > 0 else -1)
    return abs(way - (_NATURAL_SEMITONES[g - 1] - _NATURAL_SEMITONES[f - 1]))


def _travel(cell: Table, distance: float) -> None:
    cell[Term.SHIFT] = min(distance, _SHIFT_NEAR)
    cell[Term.SHIFT_FAR] = max(0.0, distance - _SHIFT_NEAR)


def _straight(cell: Table, f: int, g: int, pc: int, interval: int) -> None:
    pair = (min(f, g), max(f, g))
    span = span_semitones(pc + 24, pc + 24 + interval)
    least, most = RELAXED_SEMITONES[pair]
    within = min(span, LARGEST_SEMITONES[pair])
    stretch = max(0.0, within - most) + max(0.0, within - COMFORTABLE_SEMITONES[pair])
    cell[_STRETCH_OF.get(pair, Term.STRETCH)] = stretch
    if f > 1 and g > 1:
        cell[Term.CRAMPED_INNER] = max(0.0, least - span)
    else:
        behind = abs(interval) == 1 and is_black(pc if g == 1 else pc + interval)
        slack = _BEHIND if behind and pair == (1, 3) else _JUST_CLOSE
        cell[Term.CRAMPED] = min(_CLOSED, max(0.0, least - slack - span))
    cell[Term.JUMP] = float(span > LARGEST_SEMITONES[pair])
    _travel(cell, _displacement(f, g, pc, interval))


def _passing(cell: Table, f: int, g: int, pc: int, interval: int) -> None:
    """Thumb under a finger, or a finger over the thumb: one and the same, seen from both sides."""
    thumb_black = is_black(pc if f == 1 else pc + interval)
    finger_black = is_black(pc if f != 1 else pc + interval)
    other = max(f, g)
    span = span_semitones(pc + 24, pc + 24 + interval)
    cell[Term.PASS] = 1.0
    cell[Term.PASS_ONTO_BLACK] = float(thumb_black) * (0.6 if finger_black else 1.0)
    cell[Term.PASS_FROM_BLACK] = float(finger_black and not thumb_black)
    reach = CROSSED_SEMITONES[1, other]
    wide = Term.PASS_WIDE_BY_FOUR if other == 4 else Term.PASS_WIDE
    ease = _WIDE_BY_TWO if other == 2 else 1.0
    cell[wide] = ease * max(0.0, span - 2.0) + 2.0 * max(0.0, span - reach - 2.0)
    if other != 3:
        cell[(Term.PASS_BY_TWO, Term.PASS_BY_FOUR, Term.PASS_BY_FIVE)[(2, 4, 5).index(other)]] = 1.0


def _colours(cell: Table, f: int, g: int, pc: int, interval: int) -> None:
    """Black keys and weak neighbours, whatever the direction."""
    first, second = is_black(pc), is_black(pc + interval)
    for finger, black, other in ((f, first, second), (g, second, first)):
        if black and not other and finger in (1, 5):
            cell[Term.THUMB_BLACK if finger == 1 else Term.FIVE_BLACK] += 0.5
        if black and finger in (1, 5) and abs(interval) <= 2:
            cell[Term.THUMB_BLACK_STEP if finger == 1 else Term.FIVE_BLACK_STEP] += 0.5
    pair = {f, g}
    if pair == {3, 4}:
        cell[Term.THREE_FOUR] = 1.0
    elif pair == {4, 5}:
        cell[Term.FOUR_FIVE] = 1.0
    if abs(interval) == 1 and first != second and min(f, g) > 1:
        cell[Term.NARROW] = 1.0
    if (f, first) == (4, True) and (g, second) in ((3, False), (5, False)):
        cell[Term.FOUR_BLACK] = 1.0
    if (g, second) == (4, True) and (f, first) in ((3, False), (5, False)):
        cell[Term.FOUR_BLACK] = 1.0


@lru_cache(maxsize=16384)
def skip_terms(pc: int, interval: int) -> Table:
    """Terms for two fingers with one attack between them; the same shape as `step_terms`."""
    table = np.zeros((TERMS, 5, 5))
    for f in range(1, 6):
        for g in range(1, 6):
            cell = table[:, f - 1, g - 1]
            if interval == 0:
                cell[Term.SKIP_CHANGE] = float(f != g)
            elif f == g:
                rocking = abs(interval) == 2 and is_black(pc) and is_black(pc + interval)
                cell[Term.SKIP_HOP if f > 1 else Term.SKIP_THUMB] = 0.0 if rocking else 1.0
            elif (g > f) == (interval > 0):
                pair = (min(f, g), max(f, g))
                span = span_semitones(pc + 24, pc + 24 + interval)
                within = min(span, LARGEST_SEMITONES[pair] + 2.0)
                cell[Term.SKIP_STRETCH] = max(0.0, within - COMFORTABLE_SEMITONES[pair])
                cell[Term.SKIP_NARROW] = float(abs(interval) <= 2 and pair[1] - pair[0] > 1)
    table.setflags(write=False)
    return table


@lru_cache(maxsize=4096)
def chord_terms(pc: int, interval: int) -> Table:
    """Terms for two fingers down together, the second key `interval` > 0 semitones above the first."""
    table = np.zeros((TERMS, 5, 5))
    span = span_semitones(pc + 24, pc + 24 + interval)
    for f in range(1, 6):
        for g in range(f + 1, 6):
            cell = table[:, f - 1, g - 1]
            least, most = RELAXED_SEMITONES[f, g]
            over = max(0.0, span - most) + max(0.0, span - COMFORTABLE_SEMITONES[f, g])
            cell[Term.CHORD_STRETCH if f == 1 else Term.CHORD_STRETCH_INNER] = over
            cell[Term.CHORD_CRAMPED] = max(0.0, least - _JUST_CLOSE - span)
            cell[Term.CHORD_WEAK] = float((f, g) in {(3, 4), (4, 5)})
    table.setflags(write=False)
    return table


@lru_cache(maxsize=16384)
def block_terms(pc: int, interval: int) -> Table:
    """Terms where chords are involved: the whole hand is set down again, nothing passes or hops.

    The same shape as `step_terms`; the displacement of the hand is what counts.
    """
    table = np.zeros((TERMS, 5, 5))
    for f in range(1, 6):
        for g in range(1, 6):
            cell = table[:, f - 1, g - 1]
            if interval == 0:
                cell[Term.BLOCK_CHANGE] = float(f != g)
                continue
            _travel(cell, _displacement(f, g, pc, interval))
            cell[Term.BLOCK_CROSS] = float(f != g and (g > f) != (interval > 0))
            cell[Term.BLOCK_HOP] = float(f == g)
    table.setflags(write=False)
    return table
