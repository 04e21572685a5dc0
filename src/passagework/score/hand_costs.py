"""What it costs a pair of hands to play notes one way or another: the weights of the search for hands.

Distances are semitones of the keyboard and times are quarters. Every cost is one weight times one
measure of ease, so the weights could be fitted: first by an averaged structured perceptron with a margin
(Collins, "Discriminative training methods for hidden Markov models", EMNLP 2002), then one weight after
the other on the share of wrong notes, always on fifteen concert scores (Bach to Rachmaninoff) whose
staves say which hand plays (`two_voices` was set last, by comparing four values). Scores by other
composers were kept aside to judge the result.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SPAN_EASY, SPAN_MOST = 12, 16
"""An octave, and a tenth from black key to white: what every adult hand takes, and what few exceed."""

FINGERS = 5

MIDDLE = 60
"""Middle C, about which the hands divide where nothing else speaks."""

COVERED = 4.5
"""Semitones to each side of its middle that a resting hand covers: five fingers on white keys and a
little more, about a seventh to an octave."""

SETTLE = 0.5
"""Quarters added to the time of every move, so that fast music does not make it impossible."""

MEMORY = 4.0
"""Quarters after which a hand may be anywhere."""


@dataclass(frozen=True)
class Weights:
    """Cost of one unit of each measure."""

    wide: float = 0.3
    """Semitones of a hand's chord beyond the easy span."""
    impossible: float = 0.45
    """Semitones beyond the most, and notes beyond the fingers."""
    move: float = 0.0002
    """Semitones from a hand's last notes to its next, per quarter."""
    shift: float = 0.0097
    """The part of that which the hand cannot cover where it lies."""
    register: float = 0.0035
    """Semitones on the other hand's side of middle C."""
    border: float = 0.014
    """Semitones on the other side of where the notes about it divide, up to an octave."""
    hold_wide: float = 0.18
    """Semitones beyond the easy span, between what is struck and what the hand still holds."""
    hold_impossible: float = 0.077
    """The same beyond the most, and fingers too many."""
    two_voices: float = 0.2
    """A hand strikes while it holds something."""
    cross: float = 0.027
    """Semitones by which a hand strikes beyond where the other one was, fading with time."""
    cross_held: float = 0.012
    """Semitones by which it strikes beyond what the other one holds."""
    line: float = 0.7
    """A note that goes on where one has just ended, near and alike, in the other hand."""
    again: float = 0.17
    """A key struck again by the other hand."""
    figure: float = 1.8
    """A place of a figure that comes back, in the other hand."""
    parted: float = 0.2
    """Neighbours of a chord that end together, in two hands."""
    uneven: float = 0.43
    """Neighbours of a chord that end apart, in one hand."""
    split: float = 0.17
    """The same, however far apart they are."""
    pulse: float = 0.33
    """A hand that struck evenly leaves out its next stroke, while the other plays there."""
    early: float = 0.22
    """A hand that struck evenly strikes before its next stroke is due."""
    idle: float = 0.11
    """A hand plays while the other has rested for long."""
    lone: float = 0.024
    """Notes struck together by one hand while the other strikes nothing."""


WEIGHTS = Weights()


def chord_cost(pitches: Sequence[int], weights: Weights) -> float:
    """Cost of striking `pitches` (in order) with one hand."""
    if len(pitches) < 2:
        return 0.0
    span = pitches[-1] - pitches[0]
    if span <= SPAN_EASY and len(pitches) <= FINGERS:
        return 0.0
    over = max(0, span - SPAN_MOST) + 4 * max(0, len(pitches) - FINGERS)
    return weights.wide * max(0, span - SPAN_EASY) + weights.impossible * over


def hold_cost(
    held: Sequence[tuple[float, int]], low: int, high: int, struck: int, weights: Weights
) -> float:
    """Cost of striking `struck` notes between `low` and `high` while the hand holds (end, pitch) `held`."""
    lowest = min(low, min(midi for _, midi in held))
    highest = max(high, max(midi for _, midi in held))
    span = highest - lowest
    over = max(0, span - SPAN_MOST) + 4 * max(0, len(held) + struck - FINGERS)
    return weights.hold_wide * max(0, span - SPAN_EASY) + weights.hold_impossible * over
