"""A stroke: one sounding of a written note, in seconds of the piece as written."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.score.piece import Note

SHORTEST_S = 0.04
"""Shortest time that a key is held, where its note leaves it: an assumption, half of a stroke at 12 a second."""


@dataclass(slots=True)
class Stroke:
    """`start` and `end` in seconds as written; `added` for the notes that only an ornament asks for."""

    note: Note
    start: float
    end: float
    pitch: int
    added: bool = False
