"""Where the notes about a moment divide into a lower and an upper hand's."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from passagework.score.hand_costs import MIDDLE
from passagework.score.hand_links import Heard

WINDOW = 4.0
"""Quarters before and after, in which the notes are looked at."""

SETTLED = 0.25
"""Semitones by which the border may still move when it is taken as found."""

TURNS = 8
"""Steps of the two means at most."""

SHORTEST, LONGEST = 0.1, 2.0
"""Quarters between which the length of a note counts, by its square root."""


def find_borders(notes: Sequence[Heard], groups: Sequence[Sequence[int]]) -> list[float]:
    """For each group the pitch between the two clusters of the notes about it (two means), weighted by how
    long they last.
    """
    weights = [0.0] * 128
    counts = [0] * 128
    low = high = 0
    border = float(MIDDLE)
    borders = []
    for group in groups:
        onset = notes[group[0]].onset
        while high < len(notes) and notes[high].onset <= onset + WINDOW:
            weights[notes[high].midi] += _length(notes[high])
            counts[notes[high].midi] += 1
            high += 1
        while notes[low].onset < onset - WINDOW:
            weights[notes[low].midi] -= _length(notes[low])
            counts[notes[low].midi] -= 1
            low += 1
        border = _between([(p, weights[p]) for p in range(128) if counts[p]], border)
        borders.append(border)
    return borders


def _length(note: Heard) -> float:
    return sqrt(min(max(note.end - note.onset, SHORTEST), LONGEST))


def _between(there: Sequence[tuple[int, float]], start: float) -> float:
    border = (there[0][0] + there[-1][0]) / 2
    for _ in range(TURNS):
        below = [(p, c) for p, c in there if p <= border]
        above = [(p, c) for p, c in there if p > border]
        if not below or not above:
            return start
        means = [
            sum(p * c for p, c in rows) / max(sum(c for _, c in rows), 1e-9)
            for rows in (below, above)
        ]
        new = sum(means) / 2
        if abs(new - border) < SETTLED:
            break
        border = new
    return border
