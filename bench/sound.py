"""Sound: speed, length of a minute's step, onsets heard, tuning, growth with size.

Onsets and tuning are measured on rendered sound with the detectors of ``tests/sound/hearing.py``.
"""

from __future__ import annotations

import time
from fractions import Fraction
from statistics import median

import numpy as np

from bench.sizes import demo_bytes, score_of
from passagework.score import read_score
from passagework.sound.audio import key_delays, render
from passagework.sound.files import MEDIA_TYPES, audio_file
from passagework.sound.midi import to_midi
from passagework.sound.perform import perform
from passagework.sound.performance import Pace, Performance, PlayedNote
from passagework.sound.soundfont import installed_soundfont
from tests.sound.hearing import cents_off, rise

SIZES = (650, 1_300, 2_600, 5_200)


def main() -> None:
    """Print the tables."""
    _speed()
    _growth()
    _minute()
    _accuracy()


def _speed() -> None:
    piece = read_score(demo_bytes()).piece
    start = time.process_time()
    key_delays(installed_soundfont())
    print(f"measuring the soundfont's delays, once: {time.process_time() - start:.2f} s cpu")
    performance = perform(piece)
    start = time.process_time()
    audio = render(performance)
    used = time.process_time() - start
    print(
        f"rendering {audio.duration:.0f} s: {used:.2f} s cpu, {audio.duration / used:.0f} x real time"
    )
    for form in MEDIA_TYPES:
        start = time.process_time()
        size = len(audio_file(audio, form))
        used = time.process_time() - start
        rate = 8 * size / audio.duration / 1000
        print(
            f"{form:5} {used:6.2f} s cpu {audio.duration / used:6.0f} x real time {rate:6.0f} kbit/s"
        )


def _growth() -> None:
    print("\n## Growth with size (cpu; level ms/note means linear)")
    print(f"{'notes':>6} {'perform s':>10} {'ms/note':>8} {'midi s':>8} {'ms/note':>8}")
    for size in SIZES:
        piece = read_score(score_of(size)).piece
        start = time.process_time()
        performance = perform(piece, click=True)
        middle = time.process_time()
        to_midi(performance)
        end = time.process_time()
        n = len(piece.notes)
        print(
            f"{n:6} {middle - start:10.2f} {1000 * (middle - start) / n:8.3f} "
            f"{end - middle:8.2f} {1000 * (end - middle) / n:8.3f}"
        )


def _minute() -> None:
    piece = read_score(demo_bytes()).piece
    length = piece.end
    tempo = float(length)  # so many quarters a minute: the whole piece in a minute
    audio = render(perform(piece, tempo=tempo))
    off = 1000 * (audio.duration - 60.0)
    print(
        f"\n{float(length):g} crotchets at {tempo:g}: {audio.duration:.4f} s, off by {off:+.2f} ms (bar: 20)"
    )


def _accuracy() -> None:
    print("\n## Notes alone, C1 to C8 by semitones, three velocities, 0.3 s long, 0.6 s apart")
    rng = np.random.default_rng(20)
    for force in (40, 70, 110):
        notes, now = [], 0.4
        for pitch in range(24, 109):
            notes.append(PlayedNote(now, now + 0.3, pitch, force, "", "right"))
            now += 0.6 + 0.01 * rng.random()
        pace = Pace(0.0, Fraction(0), 60.0)
        audio = render(Performance("", tuple(notes), (), (), (), (pace,), (), 0.0, now))
        onsets = [(n.pitch, 1000 * abs(rise(audio, n.start) - n.start)) for n in notes]
        cents = [
            abs(cents_off(audio.samples[_part(n, audio.rate)], audio.rate, n.pitch)) for n in notes
        ]
        low = max(o for p, o in onsets if p < 36)
        high = max(o for p, o in onsets if p >= 36)
        within = sum(o <= 5 for _, o in onsets) / len(onsets)
        print(
            f"velocity {force:3}: onsets off by {median(o for _, o in onsets):.1f} ms (median), at most {high:.1f} "
            f"from C2 up, {low:.1f} below; {within:.0%} within 5 ms. "
            f"Tuning off by {median(cents):.1f} cents (median), at most {max(cents):.1f}"
        )


def _part(note: PlayedNote, rate: int) -> slice:
    return slice(round((note.start + 0.05) * rate), round((note.end - 0.02) * rate))


if __name__ == "__main__":
    main()
