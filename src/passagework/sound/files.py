"""Sound as the bytes of a file: WAV with the standard library, MP3, Ogg Vorbis and FLAC with `soundfile` (libsndfile)."""

from __future__ import annotations

import wave
from importlib import import_module
from io import BytesIO
from typing import Any, Literal

from passagework.sound.audio import Audio
from passagework.sound.errors import SoundError

Format = Literal["wav", "mp3", "ogg", "flac"]
MEDIA_TYPES: dict[Format, str] = {
    "wav": "audio/wav",
    "mp3": "audio/mpeg",
    "ogg": "audio/ogg",
    "flac": "audio/flac",
}
"""Media types to serve them with."""
CHUNK_FRAMES = 4_096
"""Frames handed to the encoder at once; libsndfile's Vorbis encoder crashes on a minute in one piece."""


def audio_file(audio: Audio, form: Format = "mp3") -> bytes:
    """`audio` as a file of that format; the same audio gives the same bytes in WAV and FLAC.

    Raises `SoundError` where the format is none of `MEDIA_TYPES` or its encoder is not installed.
    """
    if form not in MEDIA_TYPES:
        raise SoundError(f"{form} is no format that is written; use {', '.join(MEDIA_TYPES)}")
    return to_wav(audio) if form == "wav" else _encoded(audio, form)


def to_wav(audio: Audio) -> bytes:
    """16-bit stereo PCM."""
    import numpy as np

    whole = np.clip(np.rint(audio.samples * 32767.0), -32768, 32767).astype("<i2")
    out = BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(2)
        file.setsampwidth(2)
        file.setframerate(audio.rate)
        file.writeframes(whole.tobytes())
    return out.getvalue()


def _encoded(audio: Audio, form: Format) -> bytes:
    try:
        soundfile: Any = import_module("soundfile")
    except (ImportError, OSError):
        raise SoundError(f"{form} cannot be written: soundfile is not installed; use wav") from None
    out = BytesIO()
    names = {"mp3": "MP3", "ogg": "OGG", "flac": "FLAC"}
    kinds = {"mp3": "MPEG_LAYER_III", "ogg": "VORBIS", "flac": "PCM_16"}
    with soundfile.SoundFile(
        out, "w", audio.rate, 2, subtype=kinds[form], format=names[form]
    ) as file:
        for start in range(0, len(audio.samples), CHUNK_FRAMES):
            file.write(audio.samples[start : start + CHUNK_FRAMES])
    return out.getvalue()
