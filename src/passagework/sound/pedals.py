"""The damper pedal as marked: down at the sign, up at its end, changed in legato fashion.

At a change, and where one pedal follows another at once, the foot comes up with the new harmony and goes down again
just after it (Banowetz, 1985, calls it legato or syncopated pedalling).
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from itertools import pairwise

from passagework.score.piece import Piece, Position
from passagework.sound.clock import Run, Speed
from passagework.sound.performance import PedalDown

CHANGE_S = 0.1
"""Seconds that the pedal stays up at a change, long enough for the dampers to stop the strings."""
CHANGE_SHARE = 0.4
"""Largest share of the time to the next lift that it stays up."""


def play_pedals(piece: Piece, found: Sequence[Run], speed: Speed) -> Iterator[PedalDown]:
    """Every time that the pedal is down, in order."""
    spans = _spans(piece)
    ends = [end for _, end, _ in spans]
    for run in found:
        for onset, end, late in spans[bisect_right(ends, run.onset) :]:
            if onset >= run.end:
                break
            start, stop = speed.seconds(max(onset, run.onset)), speed.seconds(min(end, run.end))
            if late:
                start += min(CHANGE_S, CHANGE_SHARE * (stop - start))
            yield PedalDown(start + run.shift, stop + run.shift)


def _spans(piece: Piece) -> list[tuple[Position, Position, bool]]:
    """Pedals cut at their changes: onset, end, and whether the foot has just come up there."""
    found: list[tuple[Position, Position, bool]] = []
    lifted: Position | None = None
    for pedal in sorted(piece.pedals, key=lambda p: p.onset):
        places = [pedal.onset, *pedal.changes, pedal.end]
        for k, (onset, end) in enumerate(pairwise(places)):
            if lifted is not None and onset < lifted:
                onset = lifted
            if end > onset:
                found.append((onset, end, k > 0 or lifted == onset))
                lifted = end
    return found
