"""How the two hands share the beat, bar by bar. Every number is 0 or more and never falls when notes are added."""

from __future__ import annotations

from itertools import pairwise
from math import lcm, log2

from passagework.demands.grid import Grid

TOUCHING = 0.001
"""Part of a tick by which a place between ticks may be rounded."""

UNEVEN = frozenset({5, 7, 8, 10, 11, 13})
"""Numbers of beats that are grouped in twos and threes by turns; eight where it is written so."""


def together(grid: Grid) -> list[float]:
    """Moments of attack a second in the beats in which both hands strike (coordination; Ramoneda and others, 2022).

    Two hands in one rhythm have as many moments as each of them, two hands that go their own ways up to as many as both.
    """
    counts = [0.0] * grid.bars
    left, right = grid.by_beat
    for beat, row in left.items():
        if beat in right:
            counts[row[0].bar] += len({s.tick for s in row} | {s.tick for s in right[beat]})
    return grid.per_second(counts)


def divisions(grid: Grid) -> list[float]:
    """The finest grid on which all attacks of a beat lie, in bits: 0 for whole beats, 1 for halves, 2.6 where three meet two."""
    finest = [1] * grid.bars
    left, right = grid.by_beat
    for beat in left.keys() | right.keys():
        row = [*left.get(beat, ()), *right.get(beat, ())]
        bar = row[0].bar
        finest[bar] = max(finest[bar], lcm(*(s.phase[1] for s in row)))
    return [log2(f) for f in finest]


def off_beat(grid: Grid) -> list[float]:
    """Attacks a second off the beat with a note that sounds over the next one (syncopation; Chiu and Chen, 2012, "rhythm")."""
    sets: list[set[int]] = [set() for _ in range(grid.bars)]
    for strike in grid.strikes:
        if strike.phase[0] and strike.release > strike.next_beat + TOUCHING:
            sets[strike.bar].add(strike.tick)
    return grid.per_second([float(len(s)) for s in sets])


def figures(grid: Grid) -> int:
    """Different pairs of a place in the beat and a length in beats among all notes (rhythm variety)."""
    found: set[tuple[tuple[int, int], int, float]] = set()
    ticks = grid.context.piece.ticks
    beats = [float(b) for b in grid.beat_ticks]
    for strike in grid.strikes:
        beat = beats[strike.bar]
        found.update((strike.phase, ticks(n.duration), beat) for n in strike.attack.notes)
    return len({(phase, round(length / beat, 6)) for phase, length, beat in found})


def metre_changes(grid: Grid) -> int:
    """How often the metre changes, and 1 more where a metre groups its beats unevenly (five, seven, 3+2+3)."""
    times = [bar.time for bar in grid.context.piece.bars]
    changes = sum((a.beats, a.beat_type) != (b.beats, b.beat_type) for a, b in pairwise(times))
    return changes + any(len(t.beats) > 1 or sum(t.beats) in UNEVEN for t in times)
