"""Descriptors in the form in which research knows them. They say what a piece is like, and go up and down for many reasons.

Pitch sets are the sets of staff places that a hand strikes at once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Sequence
from itertools import pairwise
from math import log2

from passagework.demands.grid import Grid
from passagework.demands.pitches import altered_notes
from passagework.hands.keyboard import WHITE_WIDTH_MM
from passagework.spots.level import estimate_level

LEFT, RIGHT = 0, 1


def entropy(values: Sequence[Hashable]) -> float:
    """Shannon's entropy of the values, in bits; 0 for none."""
    total = len(values)
    return -sum(n / total * log2(n / total) for n in Counter(values).values()) if total else 0.0


def lempel_ziv(values: Sequence[Hashable]) -> int:
    """Phrases into which the sequence is parsed, each the shortest not met before (Ziv and Lempel, 1978)."""
    known: set[tuple[int, Hashable]] = set()
    names: dict[tuple[int, Hashable], int] = {}
    phrases, at = 0, 0
    for value in values:
        step = at, value
        if step in known:
            at = names[step]
            continue
        known.add(step)
        phrases += 1
        names[step] = phrases
        at = 0
    return phrases + (at != 0)


def pitch_set_entropy(grid: Grid, hand: int) -> float:
    """Entropy of the pitch sets of one hand, in bits (Ramoneda and others, 2024)."""
    return entropy([s.steps for s in grid.hands[hand]])


def pitch_set_complexity(grid: Grid, hand: int) -> float:
    """Lempel-Ziv complexity of one hand's sequence of pitch sets, in phrases (Ramoneda and others, 2024)."""
    return float(lempel_ziv([s.steps for s in grid.hands[hand]]))


def inter_onset(grid: Grid, hand: int) -> float:
    """Mean time from attack to attack of one hand in seconds, 0 below two attacks (Ramoneda and others, 2024)."""
    row = grid.hands[hand]
    if len(row) < 2:
        return 0.0
    seconds = grid.context.seconds
    return (seconds(row[-1].attack.onset) - seconds(row[0].attack.onset)) / (len(row) - 1)


def displacement(grid: Grid, hand: int) -> float:
    """Mean way of one hand's middle from attack to attack, in mm (Sebastien and others, 2012)."""
    middles = [(s.steps[0] + s.steps[-1]) / 2.0 for s in grid.hands[hand]]
    if len(middles) < 2:
        return 0.0
    return sum(abs(b - a) for a, b in pairwise(middles)) * WHITE_WIDTH_MM / (len(middles) - 1)


def rhythm_entropy(grid: Grid) -> float:
    """Entropy of the times between attacks of either hand, in bits (rhythm variety; Chiu and Chen, 2012)."""
    gaps = [b.tick - a.tick for row in grid.hands for a, b in pairwise(row)]
    return entropy(gaps)


def hands_apart(grid: Grid) -> float:
    """Share of the moments, in beats in which both hands strike, at which only one does (coordination), 0 to 1."""
    left, right = grid.by_beat
    alone = moments = 0
    for beat in left.keys() & right.keys():
        one, other = {s.tick for s in left[beat]}, {s.tick for s in right[beat]}
        moments += len(one | other)
        alone += len(one ^ other)
    return alone / moments if moments else 0.0


def polyphony(grid: Grid) -> float:
    """Notes that either hand strikes at one moment, on average."""
    strikes = list(grid.strikes)
    return sum(len(s.steps) for s in strikes) / len(strikes) if strikes else 0.0


def altered_share(grid: Grid) -> float:
    """Accidentals per note: share of the notes that are altered against the signature, 0 to 1."""
    notes = sum(len(s.attack.notes) for s in grid.strikes)
    return sum(map(len, grid.once(altered_notes))) / notes if notes else 0.0


def beats_a_minute(grid: Grid) -> float:
    """Beats a minute in the first bar, as marked, said or assumed."""
    bars = grid.context.piece.bars
    if not bars:
        return 0.0
    speed = grid.context.tempo.steady_at(bars[0].onset).quarters_per_minute
    return speed / float(bars[0].time.beat)


def seconds(grid: Grid) -> float:
    """Length in seconds, repeats not unfolded."""
    return grid.context.seconds(grid.context.piece.end)


def level_estimate(grid: Grid) -> float:
    """The level that spots are judged by, 0 to 1 (`passagework.spots.level`)."""
    return estimate_level(grid.context).value


Row = tuple[str, str, str, str, Callable[[Grid], float]]

ROWS: tuple[Row, ...] = (
    ("pitch_set_entropy_left", "variety of what the left hand strikes", "bits", "Ramoneda and others, 2024", lambda g: pitch_set_entropy(g, LEFT)),
    ("pitch_set_entropy_right", "variety of what the right hand strikes", "bits", "Ramoneda and others, 2024", lambda g: pitch_set_entropy(g, RIGHT)),
    ("pitch_set_complexity_left", "complexity of the left hand's order", "phrases", "Ramoneda and others, 2024", lambda g: pitch_set_complexity(g, LEFT)),
    ("pitch_set_complexity_right", "complexity of the right hand's order", "phrases", "Ramoneda and others, 2024", lambda g: pitch_set_complexity(g, RIGHT)),
    ("inter_onset_left", "time from attack to attack in the left hand", "s", "Ramoneda and others, 2024", lambda g: inter_onset(g, LEFT)),
    ("inter_onset_right", "time from attack to attack in the right hand", "s", "Ramoneda and others, 2024", lambda g: inter_onset(g, RIGHT)),
    ("displacement_left", "way of the left hand from attack to attack", "mm", "Sebastien and others, 2012", lambda g: displacement(g, LEFT)),
    ("displacement_right", "way of the right hand from attack to attack", "mm", "Sebastien and others, 2012", lambda g: displacement(g, RIGHT)),
    ("rhythm_entropy", "rhythm variety", "bits", "Chiu and Chen, 2012", rhythm_entropy),
    ("hands_apart", "share of moments at which one hand plays alone", "share", "Ramoneda and others, 2022", hands_apart),
    ("polyphony", "notes struck at one moment", "notes", "Sebastien and others, 2012", polyphony),
    ("altered_share", "accidentals per note", "share", "Chiu and Chen, 2012", altered_share),
    ("beats_a_minute", "tempo", "beats/min", "Sebastien and others, 2012", beats_a_minute),
    ("seconds", "length", "s", "Sebastien and others, 2012", seconds),
    ("level_estimate", "level that spots are judged by", "", "our judgement", level_estimate),
)  # fmt: skip
"""Name, title, unit, source and function of each."""
