"""How fast, how far and how wide each hand plays, bar by bar.

Every function gives one number for each bar, 0 or more, that never falls when notes are added, the tempo is raised or the hand
is smaller.
"""

from __future__ import annotations

from passagework.demands.grid import Grid, Strike
from passagework.hands.keyboard import WHITE_WIDTH_MM

FIVE_KEYS = 4
"""Staff steps from thumb to little finger of a hand that lies on five neighbouring keys."""

OCTAVE_STEPS = 7


def attacks(grid: Grid, hand: int) -> list[float]:
    """Attacks of one hand a second (Chiu and Chen, 2012, "playing speed"; Ramoneda and others, 2024, inter-onset interval)."""
    counts = [0.0] * grid.bars
    for strike in grid.hands[hand]:
        counts[strike.bar] += 1
    return grid.per_second(counts)


def burst(grid: Grid, hand: int) -> list[float]:
    """Attacks of one hand a second in the fullest beat of the bar."""
    fullest = [0.0] * grid.bars
    for row in grid.by_beat[hand].values():
        bar = row[0].bar
        fullest[bar] = max(fullest[bar], len(row))
    bars = grid.context.piece.bars
    beats = [max(float(b.length / b.time.beat), 1.0) for b in bars]
    return grid.per_second([f * n for f, n in zip(fullest, beats, strict=True)])


def added_notes(grid: Grid) -> list[float]:
    """Notes a second that either hand strikes together with another (chord playing; Sebastien and others, 2012)."""
    counts = [0.0] * grid.bars
    for strike in grid.strikes:
        counts[strike.bar] += len(strike.steps) - 1
    return grid.per_second(counts)


def octaves(grid: Grid) -> list[float]:
    """Attacks a second with an octave or more in one hand."""
    counts = [0.0] * grid.bars
    for strike in grid.strikes:
        counts[strike.bar] += strike.steps[-1] - strike.steps[0] >= OCTAVE_STEPS
    return grid.per_second(counts)


def travel(grid: Grid, hand: int) -> list[float]:
    """Staff steps a second by which the ground of one hand outgrows five keys, and once more its comfortable reach
    (Sebastien and others, 2012, "hand displacement"; Ramoneda and others, 2024, displacement rate).

    The ground is what the hand strikes from a beat to the first attack of the next one.
    """
    reach = grid.context.hand.comfortable_mm / WHITE_WIDTH_MM
    sums = [0.0] * grid.bars
    rows = grid.by_beat[hand]
    for beat, row in rows.items():
        after: list[Strike] = rows.get(beat + 1, [])[:1]
        near = [*row, *(s for s in after if s.phase[0] == 0)]
        width = max(s.steps[-1] for s in near) - min(s.steps[0] for s in near)
        sums[row[0].bar] += max(width - FIVE_KEYS, 0) + max(width - reach, 0.0)
    return grid.per_second(sums)


def spans(grid: Grid) -> list[float]:
    """The widest that one hand strikes at once, as a share of its comfortable reach (Sebastien and others, 2012)."""
    reach = grid.context.hand.comfortable_mm / WHITE_WIDTH_MM
    widest = [0.0] * grid.bars
    for strike in grid.strikes:
        widest[strike.bar] = max(widest[strike.bar], (strike.steps[-1] - strike.steps[0]) / reach)
    return widest


def held(grid: Grid) -> list[float]:
    """Attacks a second under which the same hand holds a note struck before (two voices in one hand)."""
    counts = [0.0] * grid.bars
    for row in grid.hands:
        until = -1
        for strike in row:
            counts[strike.bar] += until > strike.tick
            until = max(until, strike.release)
    return grid.per_second(counts)
