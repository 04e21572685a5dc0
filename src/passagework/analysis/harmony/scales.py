"""Keys: their spelled scales, which of them a piece can be in, and how far apart they lie."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.harmony import weights
from passagework.analysis.harmony.evidence import Evidence

Array = NDArray[Any]
Mode = Literal["major", "minor"]

MAJOR_SCALE = range(-1, 6)
"""Fifths from the tonic: F C G D A E B in C major."""
MINOR_SCALE = frozenset({-4, -3, -2, -1, 0, 1, 2, 3, 5})
"""Natural minor with the raised sixth and seventh degrees, which belong to it too."""

# How much of the sound each scale degree has, in percent, by fifths from the tonic: the profiles
# of Temperley (*Music and Probability*, 2007, table 4.1, from the Kostka-Payne examples), rounded.
_PROFILE: dict[Mode, dict[int, float]] = {
    "major": {0: 21, 1: 21, 2: 14, 3: 10, 4: 15, 5: 7, -1: 10},
    "minor": {0: 21, 1: 22, 2: 13, -3: 14, -1: 9, -4: 9, 5: 8, -2: 3, 3: 2},
}
_OUTSIDE = 0.6
"""Percent for a note outside the scale, a step of fifths beyond its edge; halved with every further one."""
_WINDOW_BARS = 4
"""Length of the windows in which candidates are sought, about a phrase."""
_PER_WINDOW = 4
_MOST_KEYS = 14


@dataclass(frozen=True, slots=True, order=True)
class Key:
    """A key: `tonic` on the line of fifths, and the mode."""

    tonic: int
    minor: bool

    @property
    def signature(self) -> int:
        """Fifths of its signature."""
        return self.tonic - 3 if self.minor else self.tonic

    @property
    def mode(self) -> Mode:
        """``"major"`` or ``"minor"``."""
        return "minor" if self.minor else "major"

    def has(self, fifths: int) -> bool:
        """Whether a spelled note belongs to its scale."""
        step = fifths - self.tonic
        return step in MINOR_SCALE if self.minor else step in MAJOR_SCALE

    def sounds(self, fifths: int) -> bool:
        """Whether a note, however it is spelled, sounds like one of its scale."""
        step = (fifths - self.tonic) % 12
        scale = MINOR_SCALE if self.minor else MAJOR_SCALE
        return any(s % 12 == step for s in scale)


def key_of_signature(fifths: int, minor: bool) -> Key:
    """The key that a signature stands for."""
    return Key(fifths + 3 if minor else fifths, minor)


def distance(one: Key, two: Key) -> int:
    """Steps of fifths between two keys, the nearest relations being 0.

    Relative and parallel keys, and the keys whose signatures differ by one, are the nearest.
    Enharmonic neighbours (Gb major and B minor) are measured round the circle.
    """
    apart = abs(one.signature - two.signature)
    apart = min(apart, abs(12 - apart) + 1)
    return weights.PARALLEL if one.tonic == two.tonic else max(apart - 1, 0)


def _profile_row(key: Key, low: int, width: int) -> list[float]:
    profile = _PROFILE[key.mode]
    row = []
    for place in range(low, low + width):
        step = place - key.tonic
        beyond = max(min(profile) - step, step - max(profile), 1)
        row.append(np.log(profile.get(step, _OUTSIDE / 2 ** (min(beyond, 6) - 1)) / 100))
    return row


def candidates(evidence: Evidence) -> tuple[Key, ...]:
    """Keys that some window of the piece, or a signature, suggests; most fitting first kept."""
    sound, bars = evidence.sound, np.array(evidence.grid.bars)
    low, width = evidence.low, sound.shape[1]
    tonics = range(low - 1, low + width + 1)
    keys = [Key(t, m) for t in tonics for m in (False, True)]
    table = np.round(np.array([_profile_row(k, low, width) for k in keys]) * 1000)
    windows = bars * 2 // _WINDOW_BARS
    sums = np.zeros((int(windows[-1]) + 2, width))
    np.add.at(sums, windows, sound)
    fit = (sums[:-1] + sums[1:]) @ table.T
    votes: dict[Key, float] = {}
    for row in fit.astype(np.int64):
        order = np.argsort(-row, kind="stable")[:_PER_WINDOW]
        for rank, at in enumerate(order.tolist()):
            votes[keys[at]] = votes.get(keys[at], 0) + 2.0**-rank
    for fifths in set(evidence.grid.fifths):
        for minor in (False, True):
            votes[key_of_signature(fifths, minor)] = len(fit) * 2.0
    best = sorted(votes, key=lambda k: (-votes[k], k))[:_MOST_KEYS]
    return tuple(sorted(best))


def change_costs(keys: tuple[Key, ...]) -> Array:
    """(from, to): log odds of a change of key, thousandths of a nat; staying is not among them."""
    out = np.empty((len(keys), len(keys)), dtype=np.int64)
    for i, one in enumerate(keys):
        for j, two in enumerate(keys):
            out[i, j] = round(
                1000 * (weights.KEY_CHANGE + weights.KEY_DISTANCE * distance(one, two))
            )
    return out


def signature_costs(keys: tuple[Key, ...], fifths: int, once: float, per_step: float) -> Array:
    """(keys,): log odds against each key under a signature, thousandths of a nat: `once` for any key
    but those it stands for, and `per_step` for every further sharp or flat.

    The first step costs most, so that a file without its signature (as MIDI files mostly are) can
    still be in whatever key it is in.
    """
    apart = [abs(k.signature - fifths) for k in keys]
    costs = [once + per_step * (a - 1) if a else 0.0 for a in apart]
    return np.array([round(1000 * c) for c in costs], dtype=np.int64)
