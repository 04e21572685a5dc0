"""What a worker's process keeps in its memory from one job to the next: the last pieces it has read."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from passagework.guide.preparation import Preparation
from passagework.hands.hand import Hand, Hands
from passagework.score.read import Reading, read_score

Fixed = tuple[tuple[str, tuple[int, ...]], ...]
"""The teacher's fingers as pairs, in order of the ids."""

KEPT = 3
"""Pieces: one that is looked at, one beside it, and room for a change of student."""


@lru_cache(maxsize=KEPT)
def reading(score: bytes, name: str) -> Reading:
    """The reading of a score. Raises `ScoreError`."""
    return read_score(score, name)


@lru_cache(maxsize=KEPT)
def prepared(score: bytes, name: str, hands: Hands) -> Preparation:
    """A preparation for these hands, no finger fixed."""
    return Preparation(reading(score, name), smaller(hands), file_name=name, both=hands)


@lru_cache(maxsize=KEPT)
def prepared_with(score: bytes, name: str, hands: Hands, fixed: Fixed) -> Preparation:
    """A preparation for these hands with the teacher's fingers."""
    plain = prepared(score, name, hands)
    return plain.with_fixed(dict(fixed)) if fixed else plain


def smaller(hands: Hands) -> Hand:
    """The hand of the shorter reach, by which difficulties are judged."""
    return min((hands.left, hands.right), key=lambda h: h.largest_mm)


def as_fixed(fingers: Mapping[str, tuple[int, ...]]) -> Fixed:
    """Fingers by note id as a value that can be hashed."""
    return tuple(sorted((i, tuple(f)) for i, f in fingers.items()))
