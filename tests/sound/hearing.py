"""Measurements on rendered sound: where notes begin, how high they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from passagework.sound.audio import Audio

FRAME_S, HOP_S = 0.003, 0.0005
FLOOR = 0.01
"""Share of the loudest frame below which a rise is not counted (40 dB down)."""


def rise(audio: Audio, near: float, reach: float = 0.025) -> float:
    """When the level rises fastest within `reach` seconds of `near`: the onset that is heard there.

    The logarithm of the energy in frames of 3 ms is differenced (Klapuri, 1999, takes this relative difference of the
    amplitude for the onset of a sound).
    """
    mono = audio.samples.mean(axis=1).astype(np.float64)
    frame, hop = round(FRAME_S * audio.rate), round(HOP_S * audio.rate)
    first = max(0, round((near - reach) * audio.rate))
    last = min(len(mono) - frame, round((near + reach) * audio.rate))
    places = np.arange(first, last, hop)
    # the wave's own slope as well, so that low notes are not blurred by their long periods
    sharp = np.diff(mono, prepend=0.0)
    total = np.concatenate([[0.0], np.cumsum(sharp**2)])
    energy = total[places + frame] - total[places]
    level = np.log(energy + FLOOR**2 * energy.max())
    steps = frame // hop
    growth = level[steps:] - level[:-steps]
    return float(places[steps:][int(np.argmax(growth))] / audio.rate)


def cents_off(samples: NDArray[np.float32], rate: int, pitch: int) -> float:
    """How far the fundamental (or, below C3, the second partial) is from equal temperament at 440 Hz, in cents."""
    mono = samples.mean(axis=1).astype(np.float64)
    partial = 2 if pitch < 48 else 1
    wanted = partial * 440.0 * 2 ** ((pitch - 69) / 12)
    size = 1 << 19
    spectrum = np.abs(np.fft.rfft(mono * np.hanning(len(mono)), size))
    places = np.fft.rfftfreq(size, 1 / rate)
    band = (places > wanted * 2 ** (-1 / 24)) & (places < wanted * 2 ** (1 / 24))
    found = places[band][int(np.argmax(spectrum[band]))]
    return float(1200 * np.log2(found / wanted))
