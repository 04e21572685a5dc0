"""A first estimate of the level a piece is for, from its own notes.

Severity is relative to the level: a scale in quavers is worth practising in a second-year piece and
nothing in a sonata. The estimate takes what the middle bar asks, so that the hard places do not
lift the level they are judged by. It is deliberately coarse; where the teacher's own scale of
levels is known, that replaces it.

How fast the notes follow each other is read twice: in seconds, and in the notes of a beat, which an
Adagio in small values and a Presto in large ones have alike. The tempo is seldom printed as a number,
so that only part of what it says is believed (`TRUST`). Notes added to a piece never lower its level.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from passagework.score.piece import Bar
    from passagework.spots.context import Attack, Context

FIRST_YEAR_DENSITY, CONCERT_DENSITY = 1.2, 11.0
"""Moments per second in the middle bar at which a hand strikes (`TOGETHER` more where both do), at the two ends of the scale. Counted
in the music itself: five-finger pieces have about one, studies and finales ten and more."""

TOGETHER = 0.5
"""What the second hand adds to a moment at which both strike: one movement to learn, though of two hands."""

FIRST_YEAR_RANGE, CONCERT_RANGE = 14.0, 60.0
"""Semitones between the lowest and the highest note of the piece: five fingers of both hands, and
five octaves (the descriptor of range is among the strongest in research on difficulty: Sebastien,
Ralambondrainy, Sebastien and Conruyt, 2012; Ramoneda, Tamer, Eremenko, Serra and Miron, 2022)."""

FIRST_YEAR_WIDTH, CONCERT_WIDTH = 3.0, 24.0
"""Semitones that one hand covers within a beat, at its widest in the middle bar: two or three neighbouring
keys, and two octaves of an arpeggio."""

DENSITY_SHARE, RANGE_SHARE, WIDTH_SHARE = 0.45, 0.35, 0.2
"""What each of the three counts for. Our judgement, on fifteen concert pieces and as many easy ones."""

MIDDLE_BEATS = 84.0
"""Beats a minute at which a beat's notes are read where nothing else is said: the tempo that is also
assumed of a piece without one (`passagework.analysis.tempo_words`)."""

TRUST = {"marked": 0.7, "file": 0.5, "words": 0.5, "assumed": 0.0}
"""How much of the way (in logarithm) the tempo may move the density from that at `MIDDLE_BEATS`, by the
source of the tempo: a mark may be the composer's boldest wish, a word covers a factor of 1.5 and more."""

FASTEST_BEAT = 160.0
"""Beats a minute above which the bar is felt as the beat: half of a pulse that can be tapped with ease
(Fraisse, 1982, puts its quick end near 0.35 seconds)."""


@dataclass(frozen=True, slots=True)
class Level:
    """`value` from 0 (first year) to 1 (concert literature), and the numbers it comes from."""

    value: float
    density: float
    """Moments of attack per second in the middle bar, the tempo believed in part (`TRUST`)."""
    range_semitones: int
    width: float
    """Semitones that one hand covers within a beat, at its widest in the middle bar."""

    @property
    def words(self) -> str:
        """The level in words, for a sentence."""
        names = ("a beginner", "an elementary student", "an intermediate student",
                 "a late intermediate student", "an advanced student")  # fmt: skip
        return names[min(int(self.value * 5), 4)]


def estimate_level(context: Context) -> Level:
    """Level of the piece in `context`."""
    rows: dict[int, list[Attack]] = {}
    for attacks in context.attacks.values():
        for attack in attacks:
            rows.setdefault(attack.bar, []).append(attack)
    if not rows:
        return Level(0.0, 0.0, 0, 0.0)
    rates: list[float] = []
    widths: list[float] = []
    for bar in context.piece.bars[min(rows) : max(rows) + 1]:
        row = rows.get(bar.index, [])
        moments = len({a.tick for a in row})
        rates.append(_density(context, bar, moments + TOGETHER * (len(row) - moments)))
        widths.append(_width(context, bar, row))
    midis = [m for row in rows.values() for a in row for m in (a.midis[0], a.midis[-1])]
    density, width, reach = _middle(rates), _middle(widths), max(midis) - min(midis)
    value = (
        DENSITY_SHARE * _share(density, FIRST_YEAR_DENSITY, CONCERT_DENSITY)
        + RANGE_SHARE * _share(reach, FIRST_YEAR_RANGE, CONCERT_RANGE)
        + WIDTH_SHARE * _share(width, FIRST_YEAR_WIDTH, CONCERT_WIDTH)
    )
    return Level(value, density, reach, width)


def _density(context: Context, bar: Bar, attacks: float) -> float:
    """Attacks per second of a bar, between the speed of the tempo and that of `MIDDLE_BEATS`."""
    if not attacks or bar.length <= 0:
        return 0.0
    span = context.tempo.steady_at(bar.onset)
    beat = float(bar.time.beat)
    rate = span.quarters_per_minute / beat
    if rate > FASTEST_BEAT:
        whole = max(float(bar.time.length), beat)
        rate, beat = rate * beat / whole, whole
    of_beat = attacks / (float(bar.length) / beat)
    speed = exp(log(MIDDLE_BEATS) + TRUST[span.source] * log(rate / MIDDLE_BEATS))
    return of_beat * speed / 60.0


def _width(context: Context, bar: Bar, row: Sequence[Attack]) -> float:
    """Semitones between the outer notes that one hand strikes in one beat of the bar, at the most."""
    start, (above, below) = context.piece.ticks(bar.onset), bar.time.beat.as_integer_ratio()
    beat = above * context.piece.ticks_per_quarter
    low: dict[tuple[str, int], int] = {}
    high: dict[tuple[str, int], int] = {}
    for attack in row:
        key = attack.side, (attack.tick - start) * below // beat
        low[key] = min(low.get(key, attack.midis[0]), attack.midis[0])
        high[key] = max(high.get(key, attack.midis[-1]), attack.midis[-1])
    return float(max((high[k] - low[k] for k in low), default=0))


def _middle(values: list[float]) -> float:
    """The upper median: with any value raised, it never falls."""
    return sorted(values)[len(values) // 2]


def _share(value: float, low: float, high: float) -> float:
    return min(max((value - low) / (high - low), 0.0), 1.0)
