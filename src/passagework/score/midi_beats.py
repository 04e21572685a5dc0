"""Where the beats are in a MIDI file: on the file's own clock, or found in what was played.

A file that a notation program wrote has its notes on the clock; one played to a click lies close to
it; a free performance knows nothing of it. The first two are told by statistics of the onsets, and in
the third the beats are found by dynamic programming (Ellis, "Beat tracking by dynamic programming",
Journal of New Music Research 36, 2007), which looks for the evenest row of times on strong onsets.
"""

from __future__ import annotations

import cmath
import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.score.midi_file import ASSUMED_TEMPO, MidiData

ROUNDING = 0.75
"""Ticks by which a typed onset may miss the grid: rounding to a tick, and half as much again."""

TYPED_GRIDS = (8, 6, 10, 7)
"""Divisions of a quarter that cover what is usually typed."""

TYPED_SHARE = 0.7
"""Share of onsets on those grids from which a file counts as typed; chance gives 0.1 at 480 ticks."""

CLICK_STRENGTH = 0.35
"""Mean resultant length of the onsets' phases (0 for chance, 1 for a grid) from which the clock of the
file is believed: onsets scattered by a twentieth of a quarter about semiquavers still give 0.45."""

FRAME = 0.02
"""Seconds to a frame of the search."""

LONGEST = 3600.0
"""Seconds searched for beats; a longer file keeps its own clock."""

LIKELY_BEAT, BEAT_SPREAD = 0.6, 0.9
"""Seconds of the likeliest beat and octaves of its spread (after Ellis, who takes 0.5 s and 1.4)."""

TIGHTNESS = 120.0
"""Weight of even beats against strong onsets; Ellis takes 100 for music with a steady pulse to 680."""


@dataclass(frozen=True)
class Clock:
    """Ticks to quarters. `kind` is ``typed``, ``click`` or ``free``; `beats` are ticks of a free one."""

    kind: str
    per_quarter: float
    beats: tuple[float, ...] = ()
    seconds_to_beat: float = 0.0

    def quarters(self, tick: float) -> float:
        """The position of `tick` in quarters."""
        if self.kind != "free":
            return tick / self.per_quarter
        beats = self.beats
        place = min(max(bisect_right(beats, tick) - 1, 0), len(beats) - 2)
        return place + (tick - beats[place]) / (beats[place + 1] - beats[place])


def find_clock(midi: MidiData) -> Clock:
    """The clock by which the notes of `midi` are best read."""
    onsets = sorted({note.onset for note in midi.notes})
    quarters = [onset / midi.per_quarter for onset in onsets]
    if _share_on_grid(quarters, ROUNDING / midi.per_quarter) >= TYPED_SHARE:
        return Clock("typed", midi.per_quarter)
    if len(onsets) < 8 or max(_strength(quarters, k) for k in (2, 3, 4)) >= CLICK_STRENGTH:
        return Clock("click", midi.per_quarter)
    free = _track(midi)
    return free or Clock("click", midi.per_quarter)


def _share_on_grid(quarters: Sequence[float], tolerance: float) -> float:
    on = sum(
        1 for x in quarters if min(abs(x * k - round(x * k)) / k for k in TYPED_GRIDS) <= tolerance
    )
    return on / max(len(quarters), 1)


def _strength(quarters: Sequence[float], parts: int) -> float:
    """Mean resultant length of the onsets' phases on a grid of `parts` to a quarter."""
    total = sum(cmath.exp(2j * math.pi * parts * x) for x in quarters)
    return abs(total) / max(len(quarters), 1)


def seconds_of(midi: MidiData) -> list[tuple[float, float, float]]:
    """Tempo map: (tick, seconds at it, seconds to a tick) at each change, in order."""
    rows = [(0.0, 0.0, ASSUMED_TEMPO / 1e6 / midi.per_quarter)]
    for tick, tempo in midi.tempos:
        last, seconds, rate = rows[-1]
        rows.append((float(tick), seconds + (tick - last) * rate, tempo / 1e6 / midi.per_quarter))
    return rows


def _track(midi: MidiData) -> Clock | None:
    """Beats of a free performance; None where it is too long or too empty to tell."""
    tempo_map = seconds_of(midi)
    ticks = [row[0] for row in tempo_map]

    def seconds(tick: float) -> float:
        start, at, rate = tempo_map[bisect_right(ticks, tick) - 1]
        return at + (tick - start) * rate

    first, last = seconds(midi.notes[0].onset), seconds(midi.notes[-1].onset)
    if not 4 * LIKELY_BEAT < last - first <= LONGEST:
        return None
    hits = [(seconds(n.onset) - first, float(n.velocity)) for n in midi.notes]
    beats = _beats(hits, last - first)
    if len(beats) < 4:
        return None
    marks = [row[1] for row in tempo_map]
    return Clock("free", midi.per_quarter, tuple(_tick(b + first, tempo_map, marks) for b in beats),
                 (beats[-1] - beats[0]) / (len(beats) - 1))  # fmt: skip


def _tick(
    second: float, tempo_map: Sequence[tuple[float, float, float]], marks: Sequence[float]
) -> float:
    start, at, rate = tempo_map[max(bisect_right(marks, second) - 1, 0)]
    return start + (second - at) / rate


def _beats(hits: Sequence[tuple[float, float]], length: float) -> list[float]:
    """Times of the beats from just before the first hit to after the last."""
    import numpy as np

    frames = int(length / FRAME) + 2
    strength = np.zeros(frames)
    for at, weight in hits:
        strength[int(at / FRAME + 0.5)] += weight
    kernel = np.exp(-0.5 * (np.arange(-3, 4) / 1.25) ** 2)
    strength = np.convolve(np.sqrt(strength), kernel, mode="same")
    strength /= max(float(strength.std()), 1e-9)
    lags = np.arange(int(0.25 / FRAME), min(int(1.5 / FRAME), frames - 1))
    if len(lags) < 2:
        return []
    alike = np.array([float(strength[lag:] @ strength[:-lag]) for lag in lags])
    weight = np.exp(-0.5 * (np.log2(lags * FRAME / LIKELY_BEAT) / BEAT_SPREAD) ** 2)
    period = int(lags[int(np.argmax(alike * weight))])
    back = np.arange(-2 * period, -(period // 2) + 1)
    cost = -TIGHTNESS / 10 * np.log(-back / period) ** 2
    score = strength.copy()
    before = np.full(frames, -1)
    for frame in range(period // 2, frames):
        from_ = frame + back
        usable = from_ >= 0
        if not usable.any():
            continue
        options = score[from_[usable]] + cost[usable]
        best = int(np.argmax(options))
        if options[best] > 0:
            score[frame] += options[best]
            before[frame] = from_[usable][best]
    frame = int(frames - period + np.argmax(score[frames - period :])) if frames > period else 0
    row: list[int] = []
    while frame >= 0:
        row.append(frame)
        frame = int(before[frame])
    beats = [f * FRAME for f in reversed(row)]
    while beats and beats[0] > FRAME * 2:
        beats.insert(0, beats[0] - period * FRAME)
    while beats and beats[-1] < length + period * FRAME:
        beats.append(beats[-1] + period * FRAME)
    return beats
