"""What can be counted and measured of a fingering: passings, moves, stretch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.hands.hand import LARGEST_SEMITONES
from passagework.hands.keyboard import distance_mm, is_black
from passagework.hands.positions import FREE_GAP_SECONDS
from passagework.hands.search import Lattice
from passagework.hands.slices import Slice
from passagework.hands.spans import span_semitones

RELAXED_PER_FINGER_MM = 23.5
"""From finger to finger in the five-finger position: a white key each."""


@dataclass(frozen=True, slots=True)
class Measures:
    """Counts and lengths of one fingering of one passage."""

    passings: int
    """Times the thumb passes under or a finger over it."""
    hops: int
    """Times one finger must go from one key straight to another."""
    stretch_mm: float
    """How far the hand is opened beyond the five-finger position, at its widest, in millimetres."""
    total_stretch_mm: float
    """The same, added up over the passage."""
    thumbs_on_black: int
    fourths: int
    """Notes given to the fourth finger."""


def measure(slices: Sequence[Slice], lattice: Lattice, path: Sequence[int]) -> Measures:
    """Measure `path` through `lattice`."""
    passings = hops = thumbs = fourths = 0
    widest = total = 0.0
    previous: dict[int, int] = {}
    for slice_, layer, at in zip(slices, lattice.layers, path, strict=True):
        fingers = [int(f) + 1 for f in layer.arrive[at]]
        for key, finger, struck in zip(slice_.keys, fingers, slice_.struck, strict=True):
            thumbs += struck and finger == 1 and is_black(key)
            fourths += struck and finger == 4
        opened = _opened(slice_.keys, fingers)
        single = len(fingers) == len(previous) == 1 and slice_.gap <= FREE_GAP_SECONDS
        if single:
            (before, was), key, finger = *previous.items(), slice_.keys[0], fingers[0]
            if before == finger:
                hops += was != key
            elif was != key and (finger > before) != (key > was):
                passings += 1 in (before, finger)
            else:
                opened = max(opened, _reached(was, key, before, finger))
        widest = max(widest, opened)
        total += opened
        previous = {int(f) + 1: k for f, k in zip(layer.leave[at], slice_.keys, strict=True)}
    return Measures(passings, hops, round(widest, 1), round(total, 1), thumbs, fourths)


def _reached(one: int, other: int, finger: int, next_finger: int) -> float:
    """The same from note to note, where a hand that lets go and moves does not stretch."""
    pair = (min(finger, next_finger), max(finger, next_finger))
    if span_semitones(one, other) > LARGEST_SEMITONES[pair]:
        return 0.0
    return _beyond(one, other, finger, next_finger)


def _beyond(one: int, other: int, finger: int, next_finger: int) -> float:
    relaxed = RELAXED_PER_FINGER_MM * abs(finger - next_finger)
    return max(0.0, distance_mm(one, other) - relaxed)


def _opened(keys: Sequence[int], fingers: Sequence[int]) -> float:
    return max(
        (
            _beyond(keys[i], keys[j], fingers[i], fingers[j])
            for i in range(len(keys))
            for j in range(i + 1, len(keys))
        ),
        default=0.0,
    )
