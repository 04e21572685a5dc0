"""How well every chord explains every atom."""

from __future__ import annotations

from math import log
from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.evidence import UNIT, Evidence
from passagework.analysis.harmony.qualities import QUALITIES, SUSPENDED_SEVENTH
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
    if quality in {"suspended-fourth", SUSPENDED_SEVENTH}:
        return (-0.3, -8.0, -8.0, -8.0)[: len(tones)]
    if quality == "major-sixth":
        return (-0.2, -5.0, -5.0, -5.0)  # over any other note it is a seventh chord on the sixth
    if quality == "French":
        return (-2.5, -2.5, -0.3, -2.5)
    fifth = weights.BASS_FIFTH if len(tones) == 3 else weights.BASS_FIFTH_OF_SEVENTH
    row = (weights.BASS_ROOT, weights.BASS_THIRD, fifth, weights.BASS_SEVENTH, weights.BASS_OTHER)
    return row[: len(tones)]


def _profile(quality: str, reach: int) -> Array:
    """(3, 2 * reach + 1): for every step of fifths from -reach to reach off the root, the log share of
    that note, whether it lies outside the chord, and its log odds in the bass.
    """
    tones, shares = tones_of(quality)
    inside = {t: round(1000 * log(s / 100)) for t, s in zip(tones, shares, strict=True)}
    bass = {t: round(1000 * b) for t, b in zip(tones, bass_odds(quality), strict=True)}
    wrapped = {t % 12: t for t in tones}
    respelled, other = round(1000 * weights.RESPELLED), round(1000 * weights.BASS_OTHER)
    rows = np.zeros((3, 2 * reach + 1))
    for at, step in enumerate(range(-reach, reach + 1)):
        tone = step if step in inside else wrapped.get(step % 12)
        if tone is None:
            rows[:, at] = 0, 1, other
        else:
            lost = 0 if tone == step else respelled
            rows[:, at] = inside[tone] + lost, 0, bass[tone] + lost
    return rows


def chord_scores(evidence: Evidence, chords: list[ChordName]) -> Array:
    """(atoms, chords): log likelihood of the atom's notes, thousandths of a nat, whole numbers."""
    low, width = evidence.low, evidence.sound.shape[1]
    roots = [root for root, _ in chords]
    reach = max(low + width - min(roots), max(roots) - low) + 1
    profiles = {quality: _profile(quality, reach) for quality in {q for _, q in chords}}
    table = np.stack(
        [profiles[q][:, reach + low - r : reach + low - r + width] for r, q in chords], axis=2
    )
    total = evidence.sound.astype(np.float64) @ table[0]
    total += evidence.strange.astype(np.float64) @ table[1]
    bass = evidence.bass_news.astype(np.float64) @ table[2]
    voices = total + round(weights.BASS_WEIGHT * 100) * bass // 100
    scaled: Array = (voices * round(weights.EVIDENCE * 100) // (100 * UNIT)).astype(np.int64)
    return scaled


def scale_scores(evidence: Evidence, keys: tuple[Key, ...]) -> Array:
    """(atoms, keys): what notes outside each scale cost, thousandths of a nat."""
    low, width = evidence.low, evidence.sound.shape[1]
    out = np.array([[not k.has(low + c) for k in keys] for c in range(width)], dtype=np.float64)
    cost = round(1000 * weights.SCALE)
    return (evidence.sound.astype(np.float64) @ out * cost // UNIT).astype(np.int64)
