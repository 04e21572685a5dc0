"""Which chord note is the bass, and where it moves while the chord stays."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.decode import Path, Space
from passagework.analysis.harmony.emission import bass_odds, tones_of
from passagework.analysis.harmony.evidence import UNIT, Evidence
from passagework.analysis.harmony.grid import DOWNBEAT


@dataclass(frozen=True, slots=True)
class Segment:
    """A run of atoms with one chord over one bass."""

    first: int
    """Atom."""
    stop: int
    """Atom after the last."""
    key: int
    function: int
    root: int
    quality: str
    member: int
    """Which tone of the chord, in order of stacking, is the bass."""


def segments(path: Path, space: Space, evidence: Evidence) -> list[Segment]:
    """Chords of the path, cut where the bass moves to another note of the chord."""
    starts = [i for i, begins in enumerate(path.begins) if begins]
    out: list[Segment] = []
    bass = [
        [(evidence.low + c, int(w)) for c, w in enumerate(row) if w]
        for row in evidence.bass.tolist()
    ]
    for first, stop in zip(starts, [*starts[1:], len(path.begins)], strict=True):
        key, function = path.key[first], path.function[first]
        root, quality = space.chords[int(space.chord_at[key, function])]
        members = _bass_path(bass[first:stop], evidence.grid.levels[first:stop], root, quality)
        begin = first
        for i in range(first + 1, stop + 1):
            if i == stop or members[i - first] != members[i - first - 1]:
                out.append(Segment(begin, i, key, function, root, quality, members[begin - first]))
                begin = i
    return out


def _bass_path(
    rows: list[list[tuple[int, int]]], levels: list[int], root: int, quality: str
) -> list[int]:
    """Likeliest bass member at each atom of one chord (a small Viterbi)."""
    tones, _ = tones_of(quality)
    odds = bass_odds(quality)
    count = len(tones)
    pitch_class = [t % 12 for t in tones]
    value = [weights.BASS_PRIOR * o for o in odds]
    back: list[list[int]] = []
    for at, row in enumerate(rows):
        if at:
            cost = weights.BASS_CHANGE[levels[at]]
            top = max(range(count), key=lambda m: value[m])
            came = [m if value[m] >= value[top] + cost else top for m in range(count)]
            value = [value[m] if came[m] == m else value[top] + cost for m in range(count)]
            back.append(came)
        for place, weight in row:
            step = (place - root) % 12
            miss = (
                weights.BASS_MISS
                * weight
                / UNIT
                * (weights.BASS_OPENING if not at or levels[at] == DOWNBEAT else 1)
            )
            value = [v if pitch_class[m] == step else v + miss for m, v in enumerate(value)]
    member = max(range(count), key=lambda m: value[m])
    members = [member]
    for came in reversed(back):
        member = came[member]
        members.append(member)
    return members[::-1]
