from __future__ import annotations

import wave
from collections.abc import Callable, Sequence
from fractions import Fraction
from io import BytesIO

import numpy as np
import pytest

from passagework.score import Reading
from passagework.sound.audio import PEAK, Audio, key_delays, render
from passagework.sound.errors import SoundError
from passagework.sound.files import MEDIA_TYPES, audio_file, to_wav
from passagework.sound.perform import perform
from passagework.sound.performance import Click, Pace, PedalDown, Performance, PlayedNote
from passagework.sound.soundfont import installed_soundfont
from tests.sound.hearing import cents_off, rise
from tests.spots.build import piece

pytest.importorskip("midirenderer", reason="the synthesiser is not installed")


def played(
    notes: Sequence[PlayedNote], duration: float, clicks: Sequence[Click] = (), pedals: Sequence[PedalDown] = ()
) -> Performance:  # fmt: skip
    pace = Pace(0.0, Fraction(0), 60.0)
    return Performance(
        "", tuple(notes), tuple(pedals), tuple(clicks), (), (pace,), (), 0.0, duration
    )


@pytest.fixture(scope="module")
def scale() -> tuple[Performance, Audio]:
    """Minor thirds from C1 to A7, alone, at times that fall anywhere in a block of samples."""
    notes = [
        PlayedNote(0.3 + 0.4137 * k, 0.6 + 0.4137 * k, pitch, 40 + 3 * k, f"n{k}", "right")
        for k, pitch in enumerate(range(24, 106, 3))
    ]
    done = played(notes, 0.5 + 0.4137 * len(notes))
    return done, render(done)


def test_onsets_are_heard_where_the_performance_says(scale: tuple[Performance, Audio]) -> None:
    """Within 5 ms; in the lowest octave, where a period lasts 15 to 30 ms, within 7."""
    done, audio = scale
    for note in done.notes:
        off = abs(rise(audio, note.start) - note.start)
        assert off <= (0.005 if note.pitch >= 36 else 0.007), (note.pitch, off)


def test_in_tune(scale: tuple[Performance, Audio]) -> None:
    done, audio = scale
    for note in done.notes:
        cut = slice(round((note.start + 0.05) * audio.rate), round((note.end - 0.02) * audio.rate))
        assert abs(cents_off(audio.samples[cut], audio.rate, note.pitch)) < 10, note.pitch


def test_clicks_are_heard_where_they_stand() -> None:
    clicks = [Click(0.2 + 0.3 * k, 2 if k % 3 == 0 else 0) for k in range(6)]
    audio = render(played([], 2.0, clicks))
    for click in clicks:
        assert abs(rise(audio, click.start) - click.start) <= 0.003


def test_a_click_does_not_cover_the_music() -> None:
    """Accented, it peaks between once and four times as high as a single note at mf."""
    click = np.abs(render(played([], 1.0, [Click(0.2, 2)])).samples).max()
    note = np.abs(render(played([PlayedNote(0.2, 0.8, 67, 80, "n1", "right")], 1.0)).samples).max()
    assert note < click < 4 * note


def test_a_minute_of_a_step_lasts_a_minute() -> None:
    """20 bars of 4/4 at 80: 60 s."""
    bars = " | ".join(["C5/1 D5/1 E5/1 F5/1"] * 20)
    done = perform(piece(f"R: {bars}"), tempo=80)
    audio = render(done)
    assert done.duration == pytest.approx(60.0, abs=1e-9)
    assert abs(audio.duration - 60.0) <= 0.001
    last = done.notes[-1]
    assert last.start == pytest.approx(59.25, abs=1e-9)
    assert abs(rise(audio, last.start) - last.start) <= 0.005
    assert render(done, tail=1.5).duration == pytest.approx(61.5, abs=0.001)


def test_louder_marks_are_louder_and_nothing_clips() -> None:
    soft = render(perform(piece("R: @pp C5/2"), bring_out=()))
    loud = render(perform(piece("R: @ff C5/2"), bring_out=()))
    power = [float(np.sqrt((a.samples**2).mean())) for a in (soft, loud)]
    assert power[1] > 4 * power[0]
    everything = [
        PlayedNote(0.1, 1.0, pitch, 127, f"n{pitch}", "right") for pitch in range(21, 109)
    ]
    assert float(np.abs(render(played(everything, 1.2)).samples).max()) <= PEAK + 1e-4


def test_the_pedal_holds_what_the_key_lets_go() -> None:
    note = PlayedNote(0.1, 0.3, 60, 80, "n1", "right")
    dry = render(played([note], 1.5)).samples
    held = render(played([note], 1.5, pedals=[PedalDown(0.2, 1.4)])).samples
    late = slice(int(1.0 * 48_000), int(1.2 * 48_000))
    assert np.abs(held[late]).max() > 20 * np.abs(dry[late]).max()


def test_the_same_performance_sounds_the_same_and_silence_is_silent() -> None:
    music = perform(piece("R: C5/1 D5/3"))
    assert np.array_equal(render(music).samples, render(music).samples)
    assert not render(perform(piece("R: C5/4"), only=())).samples.any()


def test_wav_and_the_compressed_formats_keep_length_and_place(
    demo: Callable[[str], Reading],
) -> None:
    soundfile = pytest.importorskip("soundfile", reason="no encoder is installed")
    audio = render(perform(demo("paper-boat").piece, tempo=160))
    with wave.open(BytesIO(to_wav(audio))) as file:
        assert (file.getframerate(), file.getnchannels(), file.getsampwidth()) == (48_000, 2, 2)
        assert file.getnframes() == len(audio.samples)
    sizes = {}
    for form in MEDIA_TYPES:
        data = audio_file(audio, form)
        sizes[form] = len(data)
        back, rate = soundfile.read(BytesIO(data))
        assert rate == audio.rate
        assert abs(len(back) / rate - audio.duration) < 0.001, form
        difference = back - audio.samples
        assert np.sqrt((difference**2).mean()) < 0.1 * np.sqrt((audio.samples**2).mean()), form
    assert max(sizes["mp3"], sizes["ogg"]) < sizes["wav"] / 8


def test_a_soundfont_can_be_given_and_a_bad_one_is_refused() -> None:
    music = perform(piece("R: C5/4"))
    assert render(music, soundfont=installed_soundfont()).samples.any()
    with pytest.raises(SoundError, match="not an SF2 file"):
        render(music, soundfont=b"nothing")
    with pytest.raises(SoundError, match="cannot be played"):
        render(music, soundfont=b"RIFF" + (1000).to_bytes(4, "little") + b"sfbk" + bytes(990))
    with pytest.raises(SoundError, match="no format"):
        audio_file(render(music), "aiff")  # type: ignore[arg-type]


def test_delays_are_measured_for_every_key() -> None:
    delays = key_delays(installed_soundfont())
    assert set(range(21, 109)) <= set(delays)
    assert all(0 <= d < 0.02 for d in delays.values())
