"""Key signature and spelling of notes that are only numbers.

The key is the one whose profile fits the notes best (Krumhansl, *Cognitive Foundations of Musical
Pitch*, 1990, chapter 2: the profiles of Krumhansl and Kessler). A note is spelled as the signature
has it, and chromatic notes as the nearest place on the line of fifths from the key's own seven:
raised more often than lowered on the sharp side (leading notes), as far as the raised fourth of
the dominant on one side and the lowered third of the tonic on the other.
"""

from __future__ import annotations

from collections.abc import Sequence

from passagework.score.piece import Pitch

MAJOR = (6.35, 2.23, 3.48, 2.33, 4.38, 4.09, 2.52, 5.19, 2.39, 3.66, 2.29, 2.88)
MINOR = (6.33, 2.68, 3.52, 5.38, 2.60, 3.53, 2.54, 4.75, 3.98, 2.69, 3.34, 3.17)
"""Krumhansl and Kessler's probe-tone profiles, from the tonic upwards."""

FLATWARD = -3
"""Places on the line of fifths that spelling goes to the flat side of the signature's major tonic."""


def find_key(weights: Sequence[float]) -> tuple[int, str]:
    """(fifths, mode) of the key that fits `weights`, the sounding time of the twelve pitch classes."""
    options: list[tuple[float, int, str, int]] = []
    for tonic in range(12):
        turned = [weights[(tonic + i) % 12] for i in range(12)]
        for profile, mode in ((MAJOR, "major"), (MINOR, "minor")):
            major_tonic = tonic if mode == "major" else (tonic + 3) % 12
            fifths = (major_tonic * 7 + 5) % 12 - 5
            options.append((_correlation(turned, profile), -abs(fifths), mode, fifths))
    _, _, mode, fifths = max(options)
    return fifths, mode


def _correlation(a: Sequence[float], b: Sequence[float]) -> float:
    mean_a, mean_b = sum(a) / len(a), sum(b) / len(b)
    top = sum((x - mean_a) * (y - mean_b) for x, y in zip(a, b, strict=True))
    below = sum((x - mean_a) ** 2 for x in a) * sum((y - mean_b) ** 2 for y in b)
    return float(top / below**0.5) if below > 0 else 0.0


def spell(midi: int, fifths: int) -> Pitch:
    """`midi` spelled in the signature of `fifths` sharps (flats where negative)."""
    place = midi * 7 % 12  # of the pitch class on the line of fifths, C = 0, up to twelves
    lowest = fifths + FLATWARD
    line = lowest + (place - lowest) % 12
    step = "FCGDAEB"[(line + 1) % 7]
    alter = (line + 1) // 7
    octave = (midi - alter) // 12 - 1
    return Pitch(step, alter, octave)
