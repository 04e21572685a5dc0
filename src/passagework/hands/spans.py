"""What a pair of fingers can span, and the shapes of hand that lie on a set of keys.

Spans are for a right hand, in semitones of the published table; see `LARGEST_SEMITONES`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import combinations

from passagework.hands.hand import FINGER_PAIRS, SEMITONE_MM, Hand
from passagework.hands.keyboard import key_mm

RELAXED_SEMITONES = {
    (1, 2): (1, 5), (1, 3): (3, 7), (1, 4): (5, 9), (1, 5): (7, 10), (2, 3): (1, 2),
    (2, 4): (3, 4), (2, 5): (5, 6), (3, 4): (1, 2), (3, 5): (3, 4), (4, 5): (1, 2),
}  # fmt: skip
"""Smallest and largest relaxed span of each pair (Parncutt and others, 1997, table 1: "MinRel", "MaxRel")."""

CROSSED_SEMITONES = {(1, 2): 5, (1, 3): 4, (1, 4): 3, (1, 5): 1}
"""How far the thumb passes under a finger, or the finger over the thumb (the same table, "MinPrac")."""

Shape = tuple[int, ...]
"""The finger on each key of a slice, from the thumb's side upwards."""


@lru_cache(maxsize=4096)
def limits_mm(hand: Hand) -> tuple[float, ...]:
    """Largest span of every pair of `FINGER_PAIRS`, in millimetres."""
    return tuple(hand.pair_largest_mm(low, high) for low, high in FINGER_PAIRS)


@lru_cache(maxsize=65536)
def shapes_for(keys: tuple[int, ...], hand: Hand) -> tuple[Shape, ...]:
    """Every shape of hand that reaches `keys` (ascending) with one finger to a key, none crossed."""
    limit = dict(zip(FINGER_PAIRS, limits_mm(hand), strict=True))
    allowed = [f for f in range(1, 6) if f not in hand.resting]
    return tuple(
        shape
        for shape in combinations(allowed, len(keys))
        if all(
            key_mm(keys[b]) - key_mm(keys[a]) <= limit[shape[a], shape[b]]
            for a, b in combinations(range(len(keys)), 2)
        )
    )


def all_shapes(count: int, hand: Hand) -> tuple[Shape, ...]:
    """Every uncrossed shape on `count` keys, whatever the distances (a rolled or an impossible chord)."""
    allowed = [f for f in range(1, 6) if f not in hand.resting]
    if len(allowed) < count:
        allowed = list(range(1, 6))
    return tuple(combinations(allowed, count))


def reaches(keys: Sequence[int], hand: Hand) -> bool:
    """Whether some shape of `hand` holds `keys` down together."""
    base = keys[0] // 12 * 12
    return len(keys) <= 5 and bool(shapes_for(tuple(k - base for k in keys), hand))


def span_semitones(low_key: int, high_key: int) -> float:
    """Distance of two keys in average semitones, so that published spans can be compared with it."""
    return abs(key_mm(high_key) - key_mm(low_key)) / SEMITONE_MM
