"""How sure the labels are: each against what else could stand in its place."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony.decode import Space
from passagework.analysis.harmony.inversions import Segment

Array = NDArray[Any]

TEMPERATURE = 4.0
"""The model counts evidence that hangs together as if it were independent, so its odds are too
sure of themselves. Divided by this, the mean confidence comes near the share of right labels."""
KEY_TEMPERATURE = 6.0


def _softmax(rows: Array, temperature: float) -> Array:
    scaled = rows / (1000 * temperature)
    scaled = np.exp(scaled - scaled.max(axis=-1, keepdims=True))
    out: Array = scaled / scaled.sum(axis=-1, keepdims=True)
    return out


def chord_confidence(segments: list[Segment], space: Space, scores: Array) -> list[float]:
    """For every segment the share of its root and quality among all functions of its key."""
    total = np.concatenate(
        [np.zeros((1, scores.shape[1]), dtype=np.int64), np.cumsum(scores, axis=0)]
    )
    first = np.array([s.first for s in segments])
    stop = np.array([s.stop for s in segments])
    key = np.array([s.key for s in segments])
    function = np.array([s.function for s in segments])
    group = space.groups[function]
    heard = total[stop] - total[first]
    rows = np.take_along_axis(heard, space.chord_at[key], axis=1) + space.prior[key]
    rows[1:] += space.odds[group[:-1]][:, space.groups]
    rows[:-1] += space.odds[:, group[1:]].T[:, space.groups]
    shares = _softmax(rows, TEMPERATURE)
    return [float(v) for v in shares[np.arange(len(segments)), function]]


def key_confidence(spans: list[list[Segment]], space: Space) -> list[float]:
    """For every run of segments in one key, that key's share among the candidates."""
    out = []
    reverse = np.full((len(space.keys), len(space.chords)), -1)
    for k in range(len(space.keys)):
        reverse[k, space.chord_at[k]] = np.arange(space.chord_at.shape[1])
    least = int(space.prior.min())
    for span in spans:
        chords = np.array([space.chord_at[s.key, s.function] for s in span])
        at = reverse[:, chords]
        prior = np.where(at >= 0, np.take_along_axis(space.prior, np.maximum(at, 0), axis=1), least)
        groups = space.groups[np.maximum(at, 0)]
        odds = np.where(
            (at[:, :-1] >= 0) & (at[:, 1:] >= 0), space.odds[groups[:, :-1], groups[:, 1:]], 0
        )
        rows = prior.sum(axis=1) + odds.sum(axis=1)
        out.append(float(_softmax(rows, KEY_TEMPERATURE)[span[0].key]))
    return out
