"""How the tempo of a good player breathes: an arch over each phrase, a slow wandering, a slower end.

Both hands follow it together; it is no fault.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.phrases import Phrase

Floats = NDArray[np.float64]

ARCH_DEPTH = 0.07
"""How far the tempo falls from its top to the ends of a phrase, as a share: tempo over a phrase is near to a parabola
(Todd, 1992; Repp, 1992, found the same in 28 recorded performances). Students breathe less than the artists measured there."""
ARCH_TOP = 0.45
"""Where in the phrase it is fastest, 0 to 1: the end is slowed more than the beginning."""
WANDER_SD = 0.02
"""Standard deviation of the slow wandering of the beat, as a share (beat-to-beat variation of 2 to 4 % in keeping time:
Repp, 2005)."""
WANDER_KEPT = 0.8
"""Share of it that is kept from one beat to the next: deviations are bound over many beats (Gilden, Thornton and Mallon, 1995)."""
FINAL_BEATS = 6.0
"""Beats over which a piece slows down at its end."""
FINAL_TEMPO = 0.55
"""Share of the tempo at which it ends."""
FINAL_CURVE = 3.0
"""The curve of a runner's stop, v = (1 + (w^q - 1) x)^(1/q), with the q that listeners preferred (Friberg and Sundberg, 1999)."""


def arches(places: Floats, phrases: Sequence[Phrase], depth: float) -> Floats:
    """Factor of the tempo at every position of `places` (quarters of the written piece, floats)."""
    factor = np.ones_like(places)
    if not phrases or depth <= 0:
        return factor
    onsets = np.array([float(p.onset) for p in phrases])
    ends = np.array([float(p.end) for p in phrases])
    ends[:-1] = np.maximum(ends[:-1], onsets[1:])  # the breath belongs to the phrase before it
    at = np.clip(np.searchsorted(onsets, places, side="right") - 1, 0, len(onsets) - 1)
    share = np.clip((places - onsets[at]) / np.maximum(ends[at] - onsets[at], 1e-9), 0.0, 1.0)
    side = np.where(
        share < ARCH_TOP, (ARCH_TOP - share) / ARCH_TOP * 0.8, (share - ARCH_TOP) / (1 - ARCH_TOP)
    )
    bent = 1.0 + depth * (1.0 / 3.0 - side**2)
    return np.where(places < onsets[0], 1.0, bent)


def wandering(beats: int, depth: float, rng: np.random.Generator) -> Floats:
    """Factor of the tempo at each of so many beats."""
    steps = rng.normal(0.0, depth * WANDER_SD, max(beats, 1))
    value = float(steps[0])
    fresh = (1.0 - WANDER_KEPT**2) ** 0.5
    row = np.empty_like(steps)
    for k, step in enumerate(steps):
        value = WANDER_KEPT * value + fresh * float(step)
        row[k] = 1.0 + value
    return row


def final_ritardando(before_end: Floats, beat: float, depth: float) -> Floats:
    """Factor of the tempo so many quarters before the end of the piece."""
    share = np.clip(1.0 - before_end / (FINAL_BEATS * beat), 0.0, 1.0)
    last = 1.0 - depth * (1.0 - FINAL_TEMPO)
    curve: Floats = (1.0 + (last**FINAL_CURVE - 1.0) * share) ** (1.0 / FINAL_CURVE)
    return curve
