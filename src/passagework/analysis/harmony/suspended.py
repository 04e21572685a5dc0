"""Chords whose third never comes: suspensions that are chords of their own."""

from __future__ import annotations

from passagework.analysis.harmony.evidence import UNIT, Evidence
from passagework.analysis.harmony.inversions import Segment
from passagework.analysis.harmony.qualities import FOURTH, MAJOR_SECOND

LEAST_BEATS = 1.5
"""Sound of the suspended note, in beats, below which it is a passing thing."""
_THIRDS = frozenset({3, 4})


def named_qualities(found: list[Segment], evidence: Evidence) -> list[str]:
    """Quality of each segment, suspended triads called so.

    A fourth (second) that comes to the third while the root stays is a suspension and the chord keeps
    the name of what it resolves to. Only where no third sounds before the root moves on is the chord
    itself a suspended one.
    """
    out = [s.quality for s in found]
    start = 0
    for i in range(1, len(found) + 1):
        if i < len(found) and found[i].root == found[start].root:
            continue
        run = found[start:i]
        if all(s.quality in {"major", "minor"} for s in run):
            name = _suspended(run, evidence)
            if name:
                out[start:i] = [name if s.member != 1 else s.quality for s in run]
        start = i
    return out


def _suspended(run: list[Segment], evidence: Evidence) -> str:
    root = run[0].root
    sound = evidence.sound[run[0].first : run[-1].stop].sum(axis=0).tolist()
    by_step = {evidence.low + c - root: w for c, w in enumerate(sound) if w}
    if any(step * 7 % 12 in _THIRDS for step in by_step) or 0 not in by_step:
        return ""
    least = LEAST_BEATS * UNIT
    if by_step.get(FOURTH, 0) >= least and by_step.get(1, 0) >= least:
        return "suspended-fourth"
    if by_step.get(MAJOR_SECOND, 0) >= least and by_step.get(1, 0) >= least:
        return "suspended-second"
    return ""
