"""How hard the keys are struck: the marks, the tune above the rest, the shape of the phrase, the metre, and chance."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

import numpy as np

from passagework.analysis.loudness_levels import MP_LEVEL
from passagework.listening.simulate.strike import Strike
from passagework.score.piece import Note, sort_key
from passagework.spots.context import Context

VELOCITY_OF_MP, VELOCITY_STEP = 62.0, 8.0
"""Velocity at mp, and steps from one sign to the next. Concert performances lie 1 to 5 steps apart on average (measured
on thirteen takes of seven works), the tables of the MIDI specification 16: a player who makes clear contrasts is between."""
TUNE_ABOVE = 15.0
"""Velocity steps between the tune and the rest: 10 to 20 are usual (Goebl, 2001)."""
TUNE_SHARE = 5.0
"""How many of them the tune lies above the marked level; the rest lies below it by the others."""
DOUBLED_ABOVE = 7.0
"""The same for notes that double the tune at the octave."""
ARCH = 6.0
"""Velocity steps between the ends and the top of a phrase: loudness rises and falls with the tempo (Todd, 1992)."""
METRE = {2: 3.0, 1: 1.0, 0: 0.0}
"""Velocity steps on the first beat of a bar, on other beats, between them (Sloboda, 1983, found metre in force and length)."""
SPREAD = 3.0
"""Standard deviation of the velocity of a good player's neighbouring notes, in steps: an assumption."""


class Force:
    """Answers how hard a note is struck."""

    def __init__(self, context: Context, expression: float, rng: np.random.Generator) -> None:
        self._context, self._scale, self._rng = context, expression, rng
        self._tune, self._doubled = context.tune.melody, context.tune.doublings
        self._phrases = context.form.phrases
        self._onsets = [sort_key(p.onset) for p in self._phrases]

    def give(self, strikes: Sequence[Strike]) -> None:
        """Set what each stroke is to be struck with."""
        chance = self._rng.normal(0.0, SPREAD, len(strikes))
        for strike, luck in zip(strikes, chance, strict=True):
            strike.marked = VELOCITY_OF_MP + VELOCITY_STEP * (
                self._context.loudness.of(strike.note).level - MP_LEVEL
            )
            strike.lift = self._lift(strike.note)
            strike.shape += (
                float(luck) + self._scale * self._arch(strike.note) + self._metre(strike.note)
            )

    def _lift(self, note: Note) -> float:
        if not self._tune:
            return 0.0
        below = TUNE_SHARE - TUNE_ABOVE
        if note.id in self._tune:
            return self._scale * TUNE_SHARE
        return self._scale * (below + (DOUBLED_ABOVE if note.id in self._doubled else 0.0))

    def _arch(self, note: Note) -> float:
        at = bisect_right(self._onsets, sort_key(note.onset)) - 1
        if at < 0:
            return 0.0
        phrase = self._phrases[at]
        length = float(phrase.end - phrase.onset) or float(note.duration) or 1.0
        share = float(note.onset - phrase.onset) / length
        return ARCH * (0.5 - 2.0 * (min(share, 1.0) - 0.55) ** 2)

    def _metre(self, note: Note) -> float:
        bar = self._context.bar(note.bar)
        inside = note.onset - bar.onset
        if inside == 0 and not bar.pickup:
            return METRE[2]
        return METRE[1] if inside % bar.time.beat == 0 else METRE[0]
