"""How well every chord explains every atom."""

from __future__ import annotations

from functools import lru_cache
from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.evidence import UNIT, Evidence
from passagework.analysis.harmony.qualities import QUALITIES
from passagework.analysis.harmony.scales import Key
from passagework.analysis.harmony.vocabulary import CADENTIAL_TONES

Array = NDArray[Any]
ChordName = tuple[int, str]
"""Root on the line of fifths, and quality."""


def tones_of(quality: str) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Tones (fifths from the root) and their shares of the sound in percent."""
    if quality in CADENTIAL_TONES:
        return CADENTIAL_TONES[quality], QUALITIES["major"].shares
    found = QUALITIES[quality]
    return found.tones, found.shares


def bass_odds(quality: str) -> tuple[float, ...]:
    """Log probability of each tone, in order of stacking, in the bass."""
    tones, _ = tones_of(quality)
    if quality in CADENTIAL_TONES:
        return (-0.1, -4.0, -4.0)
    if quality == "diminished":
        return (-1.6, -0.8, -2.6)
    if quality in {"diminished-seventh", "half-diminished"}:
        return (-1.2, -1.4, -1.4, -1.6)
    if quality in {"Italian", "German"}:
        return (-3.0, -0.3, -2.5, -2.5)[: len(tones)]
    if quality == "major-sixth":
        return (-0.2, -5.0, -5.0, -5.0)  # over any other note it is a seventh chord on the sixth
    if quality == "French":
        return (-2.5, -2.5, -0.3, -2.5)
    fifth = weights.BASS_FIFTH if len(tones) == 3 else weights.BASS_FIFTH_OF_SEVENTH
    row = (weights.BASS_ROOT, weights.BASS_THIRD, fifth, weights.BASS_SEVENTH, weights.BASS_OTHER)
    return row[: len(tones)]


@lru_cache(maxsize=64)
def _columns(quality: str) -> tuple[dict[int, int], dict[int, int], dict[int, int]]:
    """For a quality: log share, and log bass odds, by fifths from the root; enharmonic tones mod 12."""
    tones, shares = tones_of(quality)
    inside = {t: round(1000 * log(s / 100)) for t, s in zip(tones, shares, strict=True)}
    bass = {t: round(1000 * b) for t, b in zip(tones, bass_odds(quality), strict=True)}
    wrapped = {t % 12: t for t in tones}
    return inside, bass, wrapped


def chord_scores(evidence: Evidence, chords: list[ChordName]) -> Array:
    """(atoms, chords): log likelihood of the atom's notes, thousandths of a nat, whole numbers."""
    low, width = evidence.low, evidence.sound.shape[1]
    share = np.zeros((width, len(chords)))
    outside = np.ones((width, len(chords)))
    bass = np.full((width, len(chords)), round(1000 * weights.BASS_OTHER), dtype=np.float64)
    respelled = round(1000 * weights.RESPELLED)
    for at, (root, quality) in enumerate(chords):
        inside, low_odds, wrapped = _columns(quality)
        for column in range(width):
            step = low + column - root
            if step in inside:
                share[column, at], outside[column, at] = inside[step], 0
                bass[column, at] = low_odds[step]
            elif step % 12 in wrapped:
                tone = wrapped[step % 12]
                share[column, at], outside[column, at] = inside[tone] + respelled, 0
                bass[column, at] = low_odds[tone] + respelled
    sound = evidence.sound.astype(np.float64)
    total = sound @ share + evidence.strange.astype(np.float64) @ outside
    voices = (
        total
        + round(weights.BASS_WEIGHT * 100) * (evidence.bass_news.astype(np.float64) @ bass) // 100
    )
    return (voices * round(weights.EVIDENCE * 100) // (100 * UNIT)).astype(np.int64)


def scale_scores(evidence: Evidence, keys: tuple[Key, ...]) -> Array:
    """(atoms, keys): what notes outside each scale cost, thousandths of a nat."""
    low, width = evidence.low, evidence.sound.shape[1]
    out = np.array([[not k.has(low + c) for k in keys] for c in range(width)], dtype=np.float64)
    cost = round(1000 * weights.SCALE)
    return (evidence.sound.astype(np.float64) @ out * cost // UNIT).astype(np.int64)
