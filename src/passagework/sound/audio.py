"""A performance as sound: samples made by a synthesiser from a soundfont.

The synthesiser (`midirenderer`, a compiled wheel) takes a MIDI file and works in blocks of 64 samples, 1.3 ms. A piano's samples
do not all begin at once when their key goes down, so the delay of every key is measured once for each soundfont, and
the keys are struck that much earlier: what is heard lies where the performance says.
"""

from __future__ import annotations

import wave
from dataclasses import dataclass
from functools import lru_cache
from importlib import import_module
from io import BytesIO
from typing import TYPE_CHECKING, Any

import mido

from passagework.sound.errors import SoundError
from passagework.sound.midi import CHANNELS, CLICK_CHANNEL, CLICK_KEYS, CLICK_S, DAMPER, DOWN, UP
from passagework.sound.performance import Performance
from passagework.sound.soundfont import checked, installed_soundfont

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

TICKS_A_SECOND = 10_000
LEAD_S = 0.25
"""Silence before the first event, cut off again: keys can be struck early."""
VOLUME, REVERB, CHORUS = 7, 91, 93
"""Controllers of General MIDI."""
PIANO_REVERB, FULL = 30, 127
CLICK_VOLUME = 64
"""Volume of the metronome's channel: an accented click then peaks like a *mf* chord and stands out without covering it
(measured with the installed soundfont: 0.43 of full scale at full volume, a chord at *mf* 0.07 to 0.15)."""
PEAK = 10 ** (-1 / 20)
"""Highest sample, 1 dB below full scale, so that a lossy format does not clip either."""
MOST_GAIN = 5.0
"""Factor by which the synthesiser's sound is made louder. The same for every performance, so that a soft step stays
softer than a loud one; less where the loudest moment would pass `PEAK`."""
FADE_S = 0.04
"""Seconds over which the sound fades where it is cut off."""
DELAY_LEVEL = 0.05
"""Share of the attack's peak at which a note is taken to have begun."""
ATTACK_S = 0.06
"""Seconds after the stroke in which that peak lies."""
LOWEST_KEY, HIGHEST_KEY = 21, 108
CALIBRATION_STEP_S, CALIBRATION_HELD_S = 0.6, 0.1


@dataclass(frozen=True)
class Audio:
    """Sound: `samples` of shape (frames, 2), float32 in -1 to 1, `rate` frames a second."""

    samples: Samples
    rate: int

    @property
    def duration(self) -> float:
        """Seconds."""
        return float(self.samples.shape[0] / self.rate)


def render(
    performance: Performance,
    *,
    soundfont: bytes | None = None,
    tail: float = 0.0,
    gain: float | None = None,
) -> Audio:
    """The sound of `performance`, exactly its duration and `tail` seconds long.

    `soundfont` is an SF2 file's bytes, the installed one by default. With no tail the last sound is faded out at the end of
    the last bar, so that a step can be played in a loop. `gain` is a factor instead of `MOST_GAIN`, laid on whatever the
    loudest moment comes to: for parts that are added together afterwards. Raises `SoundError` where no synthesiser or
    soundfont is installed or the soundfont cannot be used.
    """
    import numpy as np

    font = installed_soundfont() if soundfont is None else checked(soundfont)
    length = performance.duration + max(0.0, tail)
    raw, rate = _synthesise(font, _events(performance, key_delays(font)), length + LEAD_S)
    first, frames = round(LEAD_S * rate), round(length * rate)
    samples = np.zeros((frames, 2), dtype=np.float32)
    part = raw[first : first + frames]
    samples[: len(part)] = part
    peak = float(np.abs(samples).max()) if frames else 0.0
    if gain is None:
        gain = min(MOST_GAIN, PEAK / peak) if peak > 0 else 1.0
    samples *= np.float32(gain)
    fade = min(frames, round(FADE_S * rate))
    if fade:
        samples[frames - fade :] *= np.linspace(1.0, 0.0, fade, dtype=np.float32)[:, None]
    return Audio(samples, rate)


def _events(performance: Performance, delays: dict[int, float]) -> list[tuple[float, int, Any]]:
    """(seconds, rank, message) of everything, keys struck early by their delays."""
    events: list[tuple[float, int, Any]] = []
    for note in performance.notes:
        channel, early = CHANNELS[note.hand], delays.get(note.pitch, 0.0)
        on = mido.Message("note_on", channel=channel, note=note.pitch, velocity=note.velocity)
        off = mido.Message("note_off", channel=channel, note=note.pitch)
        events += [(note.start - early, 3, on), (note.end - early, 0, off)]
    for pedal in performance.pedals:
        for time, rank, value in ((pedal.end, 1, UP), (pedal.start, 2, DOWN)):
            for channel in CHANNELS.values():
                message = mido.Message(
                    "control_change", channel=channel, control=DAMPER, value=value
                )
                events.append((time, rank, message))
    for click in performance.clicks:
        key, force = CLICK_KEYS[click.accent]
        on = mido.Message("note_on", channel=CLICK_CHANNEL, note=key, velocity=force)
        off = mido.Message("note_off", channel=CLICK_CHANNEL, note=key)
        early = delays.get(-key, 0.0)
        events += [(click.start - early, 3, on), (click.start + CLICK_S - early, 0, off)]
    return events


@lru_cache(maxsize=4)
def key_delays(soundfont: bytes) -> dict[int, float]:
    """Seconds from stroke to sound for every key of the piano (by MIDI number), and the wood blocks (negative)."""
    import numpy as np

    blocks = sorted({key for key, _ in CLICK_KEYS.values()})
    # from the top down: high strings die away sooner and leave the next key in silence
    keys = [*(-key for key in blocks), *range(HIGHEST_KEY, LOWEST_KEY - 1, -1)]
    block = 64 / 48_000
    events: list[tuple[float, int, Any]] = []
    onsets = []
    for k, key in enumerate(keys):
        onset = round(k * CALIBRATION_STEP_S / block) * block
        channel = 0 if key > 0 else CLICK_CHANNEL
        on = mido.Message("note_on", channel=channel, note=abs(key), velocity=90)
        off = mido.Message("note_off", channel=channel, note=abs(key))
        events += [(onset, 3, on), (onset + CALIBRATION_HELD_S, 0, off)]
        onsets.append(onset + LEAD_S)
    raw, rate = _synthesise(soundfont, events, len(keys) * CALIBRATION_STEP_S + LEAD_S, dry=True)
    level = np.abs(raw).max(axis=1)
    found: dict[int, float] = {}
    for key, onset in zip(keys, onsets, strict=True):
        start = round(onset * rate)
        attack = level[start : start + round(ATTACK_S * rate)]
        peak = float(attack.max()) if len(attack) else 0.0
        found[key] = float(np.argmax(attack >= DELAY_LEVEL * peak)) / rate if peak > 0 else 0.0
    return found


def _synthesise(
    soundfont: bytes, events: list[tuple[float, int, Any]], length: float, *, dry: bool = False
) -> tuple[Samples, int]:
    """Samples (frames, 2) as float32 of `events` after `LEAD_S` of silence, and their rate."""
    import numpy as np

    try:
        synthesiser: Any = import_module("midirenderer")
    except ImportError:
        raise SoundError(
            "no synthesiser is installed: install passagework with its sound"
        ) from None
    try:
        data = synthesiser.render_wave_from(soundfont, _for_synthesiser(events, length, dry=dry))
    except BaseException as error:
        # the compiled code's panics are no `Exception`; what is not the soundfont's fault goes on
        if isinstance(error, KeyboardInterrupt | SystemExit | MemoryError):
            raise
        raise SoundError("the soundfont cannot be played; give another SF2 file") from None
    with wave.open(BytesIO(data)) as file:
        rate = file.getframerate()
        frames = np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")
        channels = file.getnchannels()
    shaped = frames.reshape(-1, channels).astype(np.float32) / 32768.0
    return (shaped if channels == 2 else np.repeat(shaped, 2, axis=1)), rate


def _for_synthesiser(events: list[tuple[float, int, Any]], length: float, *, dry: bool) -> bytes:
    """A MIDI file of `events` in real time: half a second to a quarter, `TICKS_A_SECOND`."""
    track = mido.MidiTrack()
    for channel in (*CHANNELS.values(), CLICK_CHANNEL):
        reverb = 0 if dry or channel == CLICK_CHANNEL else PIANO_REVERB
        volume = CLICK_VOLUME if channel == CLICK_CHANNEL else FULL
        for control, value in ((VOLUME, volume), (REVERB, reverb), (CHORUS, 0)):
            track.append(
                mido.Message("control_change", channel=channel, control=control, value=value)
            )
    rows = [(round(max(0.0, s + LEAD_S) * TICKS_A_SECOND), rank, m) for s, rank, m in events]
    rows.sort(key=lambda row: row[:2])
    last = 0
    for tick, _, message in rows:
        track.append(message.copy(time=tick - last))
        last = tick
    track.append(
        mido.MetaMessage("end_of_track", time=max(1, round(length * TICKS_A_SECOND) + 1 - last))
    )
    file = mido.MidiFile(type=0, ticks_per_beat=TICKS_A_SECOND // 2)
    file.tracks.append(track)
    out = BytesIO()
    file.save(file=out)
    return out.getvalue()
