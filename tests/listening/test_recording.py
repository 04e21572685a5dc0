"""Recordings: what is no recording, what is a poor one, and what is heard of a good one."""

from __future__ import annotations

import io
import wave
from dataclasses import dataclass

import midirenderer
import numpy as np
import pytest
import soundfile

from passagework.listening.errors import TakeError, TakeStopped
from passagework.listening.listen import listen
from passagework.listening.read_take import read_take
from passagework.listening.recording import warnings_of
from passagework.listening.simulate.faults import MissingNote, WrongNote
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.listening.simulate.play import Simulated, play
from passagework.listening.sound_file import measure
from passagework.listening.take import Take
from passagework.listening.transcribe import is_installed
from passagework.score import read_score
from passagework.sound.soundfont import installed_soundfont
from passagework.spots.context import Context
from tests.conftest import DEMO

if not is_installed():
    pytest.skip(
        "recordings need the audio extra (make audio): its tests are left out",
        allow_module_level=True,
    )

RATE = 44_100
SYNTHESISER_RATE = 48_000
PIECE = read_score((DEMO / "lamplighter.musicxml").read_bytes(), "lamplighter").piece


def wav(samples: np.ndarray, rate: int = SYNTHESISER_RATE) -> bytes:
    stream = io.BytesIO()
    with wave.open(stream, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return stream.getvalue()


def test_a_file_that_is_no_recording_gets_one_clear_line() -> None:
    with pytest.raises(TakeError, match="not a recording that can be decoded"):
        read_take(b"this is a letter, not a recording" * 50)


def test_an_empty_file_is_said_to_be_empty() -> None:
    with pytest.raises(TakeError, match="empty"):
        read_take(b"")


def test_a_broken_off_recording_is_refused_or_read_but_never_hangs() -> None:
    whole = wav(np.zeros(SYNTHESISER_RATE * 2))
    with pytest.raises(TakeError):
        read_take(whole[:60])


def test_silence_is_said_to_be_silent() -> None:
    with pytest.raises(TakeError, match="silent"):
        read_take(wav(np.zeros(SYNTHESISER_RATE * 5)))


def test_three_hours_are_refused_before_they_are_decoded() -> None:
    samples = np.zeros(3 * 3600 * 1000)
    with pytest.raises(TakeError, match="180 minutes"):
        read_take(wav(samples, rate=1000))


def test_noise_without_a_piano_is_told_apart() -> None:
    rng = np.random.default_rng(1)
    with pytest.raises(TakeError, match="no piano"):
        read_take(wav(0.1 * rng.standard_normal(SYNTHESISER_RATE * 3)))


def test_listening_can_be_stopped() -> None:
    tone = 0.3 * np.sin(2 * np.pi * 440 * np.arange(RATE * 3) / RATE)
    with pytest.raises(TakeStopped):
        read_take(wav(tone), stop=lambda: True)


@dataclass(frozen=True)
class Heard:
    """A simulated take with two slips, its sound, and what was heard of it: transcribed once, for it takes its time."""

    sim: Simulated
    sound: bytes
    take: Take
    shares: tuple[float, ...]
    wrong: str
    missing: str


@pytest.fixture(scope="module")
def heard() -> Heard:
    inner = [n for n in PIECE.notes if 1 <= n.bar <= 3 and not n.grace]
    wrong, missing = inner[3], inner[len(inner) // 2 + 1]
    faults = (WrongNote(wrong.id), MissingNote(missing.id))
    sim = play(PIECE, seed=3, bars=(0, 4), faults=faults)
    sound = bytes(midirenderer.render_wave_from(installed_soundfont(), to_midi_bytes(sim.take)))
    shares: list[float] = []
    take = read_take(sound, progress=lambda _, share: shares.append(share))
    return Heard(sim, sound, take, tuple(shares), wrong.id, missing.id)


def test_progress_rises_to_the_end(heard: Heard) -> None:
    assert list(heard.shares) == sorted(heard.shares)
    assert heard.shares[-1] == pytest.approx(1.0)


def test_what_is_heard_is_what_was_played(heard: Heard) -> None:
    assert heard.take.source == "recording"
    found = [(n.pitch, n.onset) for n in heard.take.notes]
    missed = [
        n
        for n in heard.sim.take.notes
        if not any(p == n.pitch and abs(t - n.onset) < 0.05 for p, t in found)
    ]
    assert len(missed) <= 0.03 * len(heard.sim.take.notes)
    assert len(heard.take.notes) <= 1.03 * len(heard.sim.take.notes)


def test_wrong_and_missing_notes_are_heard_through_sound(heard: Heard) -> None:
    found = listen(Context(PIECE), heard.take).findings
    kinds = {(f.kind, i) for f in found for i in f.note_ids}
    assert ("wrong-notes", heard.wrong) in kinds
    assert ("missing-notes", heard.missing) in kinds
    slips = [f for f in found if f.kind in {"wrong-notes", "missing-notes", "extra-notes"}]
    assert len(slips) <= 3


def test_a_recording_that_is_too_quiet_says_so(heard: Heard) -> None:
    level = measure(wav(unpacked(heard.sound) * 10 ** (-30 / 20)))
    assert any("too quiet" in warning for warning in warnings_of(level))
    assert not warnings_of(measure(heard.sound))


def test_a_clipped_recording_says_so(heard: Heard) -> None:
    samples = unpacked(heard.sound)
    level = measure(wav(np.clip(samples / np.abs(samples).max() * 8, -1, 1)))
    assert any("clipped" in warning for warning in warnings_of(level))


def test_other_containers_are_decoded(heard: Heard) -> None:
    for form in ("flac", "ogg", "mp3"):
        stream = io.BytesIO()
        soundfile.write(stream, unpacked(heard.sound), SYNTHESISER_RATE, format=form.upper())
        assert measure(stream.getvalue()).seconds == pytest.approx(
            len(unpacked(heard.sound)) / SYNTHESISER_RATE, abs=0.1
        )


def unpacked(data: bytes) -> np.ndarray:
    samples, rate = soundfile.read(io.BytesIO(data))
    assert rate == SYNTHESISER_RATE
    return np.asarray(samples.mean(axis=1) if samples.ndim > 1 else samples)
