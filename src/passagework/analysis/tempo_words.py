"""What tempo words mean in beats a minute, and which note value they count.

The ranges of single terms are in the lexicon. What stands with a term moves them: *molto* and *-issimo* away from the
moderate, *poco* and *non troppo* towards it. The word counts a beat, and which value that is depends on the notes: an
adagio full of short notes is counted in halves of the written beat, a fast waltz in whole bars.
"""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import exp, log, prod, sqrt

from passagework.analysis.terms_build import LIMITED
from passagework.analysis.terms_effects import Effect, Phrase
from passagework.score.piece import Bar, Piece

ASSUMED_BEATS_PER_MINUTE = 84.0
"""Andante to moderato: what is assumed of a piece that says nothing at all."""
ASSUMED_BEATS = (50.0, 140.0)
"""Range of that assumption: most music lies in it."""

DEGREE_FACTOR = 0.25
"""Share by which a whole degree moves a range: *molto* (1.5) by an eighth. An assumption."""

LEAN_FACTOR = 1.06
"""What *con moto*, *con brio* add to a tempo word, and *maestoso*, *tranquillo* take. An assumption."""

USUAL_NOTES_PER_BEAT = 2.83
"""Shortest notes that keep going, for each counted beat: between two and four (geometric mean)."""
OTHER_UNIT_COST = 0.5
"""Reluctance, in natural logarithm, to count another value than the beat of the metre."""
UNIT_DOUBT = OTHER_UNIT_COST + 0.05
"""Units whose costs differ by no more are both in the range: where the note values alone leave it open (two or
four to the unit), only the reluctance to leave the beat decides, and that is no knowledge."""
SLOW_BELOW, FAST_ABOVE = 90.0, 118.0
"""Middle of a range, in beats a minute, below which a beat may be halved, above which beats may be grouped."""

SHORT_QUANTILE = 0.25
"""The quarter of all attacks of a hand that follow closest tells its shortest notes that keep going."""
FEWEST_ATTACKS = 8


@dataclass(frozen=True, slots=True)
class TempoRange:
    """A range of speeds in quarters a minute with the value that is taken."""

    low: float
    middle: float
    high: float

    def holds(self, speed: float, tolerance: float) -> bool:
        """Whether `speed` lies in it, a factor of `tolerance` allowed."""
        return self.low / tolerance <= speed <= self.high * tolerance


def beat_range(phrase: Phrase) -> tuple[float, float] | None:
    """Beats a minute that `phrase` asks for, slowest and fastest; None where it names no speed.

    Several tempo words in one phrase (*Allegro moderato*) meet at the geometric mean of their ranges.
    """
    states = [e for e in phrase.of("tempo") if e.kind == "state" and e.beats]
    if not states:
        return None
    firm = [e for e in states if e.size != LIMITED]
    leads = {e.direction for e in firm}
    # calm, not too fast: the bound that the other word keeps anyhow says nothing more
    states = [e for e in states if not firm or e.size != LIMITED or e.direction in leads]
    ranges = [_moved(e) for e in states]
    low = prod(r[0] for r in ranges) ** (1 / len(ranges))
    high = prod(r[1] for r in ranges) ** (1 / len(ranges))
    lean = prod(_lean(e) for e in phrase.parts)
    return low * lean, high * lean


def _moved(effect: Effect) -> tuple[float, float]:
    low, high = effect.beats or (0.0, 0.0)
    if effect.negated:
        return low, high
    factor = (1 + DEGREE_FACTOR * (effect.size - 1)) ** effect.direction
    return low * factor, high * factor


def _lean(effect: Effect) -> float:
    if effect.kind != "manner" or effect.dimension not in {"tempo", "character"}:
        return 1.0
    sign = (
        -effect.direction
        if effect.negated and effect.dimension == "character"
        else effect.direction
    )
    return float(LEAN_FACTOR ** (sign * min(effect.size, 1.5)))


def is_dance(phrase: Phrase) -> bool:
    """Whether the phrase names a dance, whose speed is given for the beat of its metre."""
    return any(e.verb == "dance" for e in phrase.of("tempo"))


def range_in_quarters(
    beats: tuple[float, float], bar: Bar, shortest: Fraction | None, *, dance: bool = False
) -> TempoRange:
    """`beats` (a minute) of the value that is counted in `bar`, in quarters a minute.

    `shortest` is the shortest value that keeps going (`shortest_value`), None where it is not known.
    """
    low, high = beats
    middle = sqrt(low * high)
    units = _units(bar, middle) if shortest and not dance else [(bar.time.beat, 0.0)]
    costs = [
        (abs(log(float(unit / (shortest or unit)) / USUAL_NOTES_PER_BEAT)) + cost, unit)
        for unit, cost in units
    ]
    best, chosen = min(costs)
    near = [unit for cost, unit in costs if cost - best <= UNIT_DOUBT]
    return TempoRange(low * float(min(near)), middle * float(chosen), high * float(max(near)))


def believable(beats: tuple[float, float], bar: Bar) -> TempoRange:
    """The widest range in quarters a minute that `beats` can mean in `bar`, whatever value is counted."""
    low, high = beats
    units = [unit for unit, _ in _units(bar, sqrt(low * high))]
    return TempoRange(
        low * float(min(units)), exp((log(low) + log(high)) / 2), high * float(max(units))
    )


def _units(bar: Bar, middle: float) -> list[tuple[Fraction, float]]:
    """Values that may be counted, with what it costs to choose them."""
    beat, whole = bar.time.beat, bar.time.length
    found = [(beat, 0.0)]
    parts = 3 if beat.numerator == 3 else 2
    if middle < SLOW_BELOW:
        found.append((beat / parts, OTHER_UNIT_COST))
    if middle > FAST_ABOVE and whole > beat:
        count = whole / beat
        if count == 3:
            found.append((whole, OTHER_UNIT_COST))
        elif count % 2 == 0:
            found.append((beat * 2, OTHER_UNIT_COST))
    return found


@dataclass(frozen=True)
class Attacks:
    """The attacks of each hand in ticks, each position once, in order."""

    rows: tuple[list[int], list[int]]
    scale: int


def attacks_of(piece: Piece) -> Attacks:
    """Attacks of `piece`, grace notes and notes that are not printed apart."""
    scale = piece.ticks_per_quarter
    rows: dict[str, list[int]] = {"left": [], "right": []}
    for note in piece.notes:
        if note.grace or not note.printed:
            continue
        onset = note.onset
        at = onset.numerator * scale // onset.denominator
        row = rows[note.hand]
        if not row or at > row[-1]:
            row.append(at)
    return Attacks((rows["left"], rows["right"]), scale)


def shortest_value(attacks: Attacks, first: Fraction, last: Fraction) -> Fraction | None:
    """The shortest distance in quarters at which attacks of one hand keep following each other between two
    positions; None where there are too few notes to tell.
    """
    best: int | None = None
    start, stop = first * attacks.scale, last * attacks.scale
    for row in attacks.rows:
        part = row[bisect_left(row, start) : bisect_left(row, stop)]
        gaps = sorted(b - a for a, b in pairwise(part))
        if len(gaps) < FEWEST_ATTACKS:
            continue
        gap = gaps[int(SHORT_QUANTILE * len(gaps))]
        best = gap if best is None else min(best, gap)
    return None if best is None else Fraction(best, attacks.scale)
