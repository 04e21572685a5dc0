"""Trills by ear: a key and its neighbour struck in turn and quickly are an ornament, whether or not the file has the sign.

Long trills are often written as one sign and a wavy line that files lose.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from itertools import pairwise

from passagework.listening.take import Take

WINDOW_S = 0.4
"""Seconds before and after a stroke in which its trill is looked for."""
FEWEST = 5
"""Strokes of the two keys within that time: some six a second, slower than any trill worth the name."""
WIDEST = 2
"""Semitones between the two keys."""


def without_trills(take: Take, strokes: Sequence[int]) -> list[int]:
    """`strokes` (indices in order) without those that are part of a trill."""
    if not strokes:
        return []
    keys: dict[int, list[float]] = defaultdict(list)
    for note in take.notes:
        keys[note.pitch].append(note.onset)
    return [k for k in strokes if not _in_trill(keys, take.notes[k].onset, take.notes[k].pitch)]


def _in_trill(keys: dict[int, list[float]], onset: float, pitch: int) -> bool:
    own = _between(keys.get(pitch, []), onset)
    for other in range(pitch - WIDEST, pitch + WIDEST + 1):
        if other == pitch:
            continue
        row = sorted([(t, 0) for t in own] + [(t, 1) for t in _between(keys.get(other, []), onset)])
        turns = sum(a[1] != b[1] for a, b in pairwise(row))
        if len(row) >= FEWEST and turns >= FEWEST - 1:
            return True
    return False


def _between(onsets: list[float], onset: float) -> list[float]:
    return onsets[bisect_left(onsets, onset - WINDOW_S) : bisect_right(onsets, onset + WINDOW_S)]
