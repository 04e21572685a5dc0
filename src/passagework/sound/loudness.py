"""How hard each key is struck: the marks on the page, and the tune above the rest.

In recordings of pianists the melody is struck 10 to 20 MIDI velocity steps harder than what accompanies it (Goebl,
2001). The lead of some 30 ms that comes with it there is left out: this is a model to play with, and both hands are
together.
"""

from __future__ import annotations

from collections.abc import Collection

from passagework.analysis.loudness import LoudnessCurve
from passagework.analysis.loudness_levels import MP_LEVEL, VELOCITY_OF_MP, VELOCITY_STEP
from passagework.score.piece import Note

TUNE_ABOVE = 15
"""Velocity steps between the tune and the rest, the middle of the measured range."""
TUNE_SHARE = 5
"""How many of them the tune lies above the marked level; the rest lies below it by the others."""
SOFTEST, LOUDEST = 12, 127
"""Velocities that are used: a key struck more softly than some 10 does not sound on most instruments."""
ADDED_BELOW = 6
"""Velocity steps by which the notes that only an ornament asks for are softer than its main note."""


def plain_velocity(level: float) -> int:
    """Velocity of `level` on the scale of the signs, within what is used."""
    return _bounded(VELOCITY_OF_MP + VELOCITY_STEP * (level - MP_LEVEL))


def velocities(curve: LoudnessCurve, note: Note, tune: Collection[str], *, voiced: bool) -> int:
    """Velocity of `note`; where `voiced`, the notes of `tune` are brought out of the others.

    At the ends of the scale the distance is kept and the level gives way.
    """
    level = curve.of(note).level
    if not voiced:
        return plain_velocity(level)
    exact = VELOCITY_OF_MP + VELOCITY_STEP * (level - MP_LEVEL)
    above = max(SOFTEST + TUNE_ABOVE, _bounded(exact + TUNE_SHARE))
    return above if note.id in tune else above - TUNE_ABOVE


def added_velocity(main: int) -> int:
    """Velocity of an ornament's added note beside a main note struck with `main`."""
    return max(SOFTEST, main - ADDED_BELOW)


def _bounded(value: float) -> int:
    return max(SOFTEST, min(LOUDEST, round(value)))
