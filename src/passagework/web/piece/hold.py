"""What a worker's process keeps in its memory from one job to the next: the last pieces it has read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

from passagework.guide.preparation import Preparation
from passagework.hands.fingering import Fingering
from passagework.hands.hand import Hand, Hands
from passagework.hands.write import write_fingering
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
    """A preparation for these hands with the teacher's fingers, which stand in print: in exercises and on paper too."""
    plain = prepared(score, name, hands)
    if not fixed:
        return plain
    fingers, piece = dict(fixed), plain.piece
    own = Fingering(
        fingers, overruled=frozenset(fingers), sides={i: piece.by_id[i].hand for i in fingers}
    )
    notes = tuple(replace(n, fingers=fingers.get(n.id, n.fingers)) for n in piece.notes)
    printed = Reading(write_fingering(plain.notation, own), replace(piece, notes=notes))
    return plain.with_fixed(fingers, printed)


def smaller(hands: Hands) -> Hand:
    """The hand of the shorter reach, by which difficulties are judged."""
    return min((hands.left, hands.right), key=lambda h: h.largest_mm)


def as_fixed(fingers: Mapping[str, tuple[int, ...]]) -> Fixed:
    """Fingers by note id as a value that can be hashed."""
    return tuple(sorted((i, tuple(f)) for i, f in fingers.items()))
