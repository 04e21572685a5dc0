"""The take as the aligner sees it: clusters of strokes that were meant as one."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import KEYS
from passagework.listening.align_score import Floats
from passagework.listening.take import Take

TOGETHER_S = 0.035
"""Strokes closer than this to the one before belong together: notes of a chord spread over some 30 ms (Goebl, 2001: the
melody leads by 30 ms), while the fastest passages keep 60 ms between notes."""

WIDEST_S = 0.07
"""A cluster reaches no further than this from its first stroke."""

AGAIN_S = 0.5
"""A key struck again within this time is not a late note of the same chord."""


@dataclass(frozen=True)
class Clusters:
    """Clusters in order of time, as arrays."""

    first: NDArray[np.int64]
    """Index of the first stroke of each, and one past the last stroke at the end."""
    onset: NDArray[np.float64]
    """Seconds: the first stroke of each."""
    gap: Floats
    """Seconds from the cluster before; large for the first."""
    keys: Floats
    """Keys struck, clusters by keys, 1 or 0."""
    size: Floats
    pitch: NDArray[np.int64]
    """Key of each stroke."""
    fresh: Floats
    """For each stroke 1, or 0 where its key was struck just before (within `AGAIN_S`)."""

    def __len__(self) -> int:
        return len(self.onset)


def clusters_of(take: Take) -> Clusters:
    """Clusters of `take`; a key that is struck again begins a new one."""
    firsts: list[int] = []
    held: set[int] = set()
    start = last = -1e9
    for index, note in enumerate(take.notes):
        if (
            note.onset - last > TOGETHER_S
            or note.onset - start > WIDEST_S
            or (note.pitch in held and note.onset > last)
        ):
            firsts.append(index)
            start, held = note.onset, set()
        held.add(note.pitch)
        last = note.onset
    first = np.array([*firsts, len(take.notes)], dtype=np.int64)
    onset = np.array([take.notes[i].onset for i in firsts])
    pitch = np.array([n.pitch for n in take.notes], dtype=np.int64)
    keys = np.zeros((len(firsts), KEYS), np.float32)
    keys[np.repeat(np.arange(len(firsts)), np.diff(first)), pitch] = 1
    gap = np.diff(onset, prepend=onset[:1] - 10.0).astype(np.float32)
    return Clusters(first, onset, gap, keys, keys.sum(1), pitch, _fresh(take, pitch))


def _fresh(take: Take, pitch: NDArray[np.int64]) -> Floats:
    fresh = np.ones(len(pitch), np.float32)
    last: dict[int, float] = {}
    for index, note in enumerate(take.notes):
        before = last.get(note.pitch, -1e9)
        if note.onset - before < AGAIN_S:
            fresh[index] = 0
        last[note.pitch] = note.onset
    return fresh
