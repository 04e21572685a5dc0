"""Practice tempos: from the tempo of the passage and its severity, on the notches of a metronome."""

from __future__ import annotations

from bisect import bisect_left
from fractions import Fraction
from math import log

from passagework.exercises.exercise import Tempo
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.piece import Position, TimeSignature
from passagework.spots.words_of import FASTEST_MARK, SLOWEST_PRACTICE

NOTCHES = (30, 32, 34, 36, 38,
           40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100,
           104, 108, 112, 116, 120, 126, 132, 138, 144, 152, 160, 168, 176, 184, 192, 200, 208)  # fmt: skip
"""The marks of a pendulum metronome, 40 to 208, carried on downwards by twos."""

EASY_START, HARD_START = 0.8, 0.4
"""Share of the tempo at which practice begins, for a place of severity 0 and of severity 1. Slow enough
for no mistake is the teacher's rule; the two ends are planning values, the line between is straight."""

RUNG = 1.12
"""Ratio of one rung of a ladder to the next: two or three notches of the scale above. A planning value."""

FEWEST_RUNGS, MOST_RUNGS = 3, 7

_NAMES = {
    Fraction(1, 8): "demisemiquaver", Fraction(1, 4): "semiquaver", Fraction(1, 2): "quaver",
    Fraction(1): "crotchet", Fraction(2): "minim", Fraction(4): "semibreve",
    Fraction(3, 8): "dotted semiquaver", Fraction(3, 4): "dotted quaver",
    Fraction(3, 2): "dotted crotchet", Fraction(3): "dotted minim",
}  # fmt: skip


def start_share(severity: float) -> float:
    """Share of the tempo at which a place of that severity (0 to 1) is first practised."""
    return EASY_START + (HARD_START - EASY_START) * min(max(severity, 0.0), 1.0)


def full_tempo(passage: Passage, study: Study) -> Tempo:
    """The tempo of the passage, in the beat that is counted there."""
    return tempo_at(study, study.context.bar(passage.first_bar).onset)


def tempo_at(study: Study, position: Position, share: float = 1.0) -> Tempo:
    """`share` of the tempo at `position`, in a beat that a metronome can give."""
    rate = study.context.tempo.steady_at(position).quarters_per_minute
    return as_beats(rate * share, rate, study.piece.bar_at(position).time)


def as_beats(quarters: float, full: float, time: TimeSignature) -> Tempo:
    """`quarters` a minute as a metronome gives them in a bar of `time`.

    The beat is the one that is counted; two beats (or the bar) where the full tempo `full` is faster than
    the metronome goes, half beats where `quarters` is slower than it holds together.
    """
    beat, whole = time.beat, time.length
    while full / float(beat) > FASTEST_MARK and beat < whole:
        beat = beat * 2 if (whole / beat) % 2 == 0 else whole
    parts = 3 if beat.numerator % 3 == 0 else 2
    while quarters / float(beat) < SLOWEST_PRACTICE and beat / parts in _NAMES:
        beat, parts = beat / parts, 2
    return Tempo(beat, float(notch(quarters / float(beat))))


def notch(rate: float) -> int:
    """The metronome's mark nearest to `rate`, by ratio; beyond its scale the whole number."""
    if rate < NOTCHES[0] or rate > NOTCHES[-1]:
        return max(round(rate), 1)
    at = bisect_left(NOTCHES, rate)
    return min(NOTCHES[max(at - 1, 0) : at + 1], key=lambda mark: abs(log(mark / rate)))


def ladder(passage: Passage, study: Study) -> tuple[Tempo, ...]:
    """Tempos from where practice begins to that of the passage, in rungs of one ratio.

    The harder the place, the lower the first rung and the more rungs there are.
    """
    position = study.context.bar(passage.first_bar).onset
    low = start_share(passage.severity)
    rungs = round(log(1 / low) / log(RUNG)) + 1
    rungs = min(max(rungs, FEWEST_RUNGS), MOST_RUNGS)
    rows = [tempo_at(study, position, low ** (1 - k / (rungs - 1))) for k in range(rungs)]
    return tuple(dict.fromkeys(rows))


def start_tempo(passage: Passage, study: Study) -> Tempo:
    """Where practice of the passage begins."""
    position = study.context.bar(passage.first_bar).onset
    return tempo_at(study, position, start_share(passage.severity))


def middle_tempo(passage: Passage, study: Study) -> Tempo:
    """Half way (by ratio) from where practice begins to the tempo of the passage."""
    position = study.context.bar(passage.first_bar).onset
    return tempo_at(study, position, start_share(passage.severity) ** 0.5)


def tempo_name(tempo: Tempo) -> str:
    """In words: ``"crotchet = 60"``."""
    beat = _NAMES.get(tempo.beat, f"beat of {tempo.beat} crotchets")
    return f"{beat} = {tempo.per_minute:.0f}"
