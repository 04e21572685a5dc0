"""Decodes a recording, block by block, and measures whether it can be listened to.

Every container and codec that the decoder knows (WAV, FLAC, Ogg, MP3, M4A, what phones make of a video) becomes one channel of
samples at 44.1 kHz. A recording is decoded twice, once to be measured and once to be transcribed, so that no more than a block is
ever held.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

from passagework.listening.errors import TakeError

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

RATE = 44_100
"""Samples a second that the transcription was trained on."""
MOST_SECONDS = 45 * 60
"""Longest recording that is listened to: longer than any one piece that a student plays."""
MOST_BYTES = 1_000_000_000
"""45 minutes of stereo in 24 bits at 48 kHz take 780 MB."""
FRAME = 4_410
"""Samples of a frame of measurement, a tenth of a second."""
FULL_SCALE = 0.999
"""Samples at or above this share of the largest value count as clipped where several stand in a row."""
CLIPPED_RUN = 4
"""So many full-scale samples in a row are a cut wave; a piano's own peaks touch the top for one or two."""


@dataclass(frozen=True, slots=True)
class Level:
    """What was measured of a recording."""

    seconds: float
    loud_db: float
    """Level of its loud moments: the 95th percentile of tenths of a second, in dB below full scale."""
    floor_db: float
    """Level of its quiet moments: the 10th percentile."""
    clipped_share: float
    """Share of the tenths of a second that hold a cut wave."""


def blocks(data: bytes, *, most_seconds: float = MOST_SECONDS) -> Iterator[Samples]:
    """Decode `data` into blocks of samples, shape (n,), -1 to 1, mono at `RATE`.

    Raises `TakeError` where the audio extra is missing, for a file that is no recording, breaks off before a
    second is decoded, or is longer than `most_seconds`.
    """
    av = decoder()
    if len(data) > MOST_BYTES:
        raise TakeError(
            f"the recording is larger than {MOST_BYTES // 1_000_000} MB; save it as MP3 or M4A"
        )
    try:
        with av.open(BytesIO(data), mode="r") as container:
            if not container.streams.audio:
                raise TakeError("the file holds no sound; choose the recording itself")
            yield from _decoded(av, container, most_seconds)
    except (av.FFmpegError, ValueError, EOFError) as error:
        raise TakeError(
            "the file is not a recording that can be decoded; save it as WAV, FLAC, MP3, Ogg or M4A "
            f"({str(error).split(';')[0][:80]})"
        ) from None


def decoder() -> Any:
    """The decoding library. Raises `TakeError` with what to install where it is missing."""
    try:
        import av
    except ImportError:
        raise TakeError(
            "recordings need the audio extra: pip install 'passagework[audio]' "
            "(a MIDI file from a digital piano needs nothing more)"
        ) from None
    av.logging.set_level(av.logging.PANIC)
    return av


def _decoded(av: Any, container: Any, most_seconds: float) -> Iterator[Samples]:
    resampler = av.AudioResampler(format="fltp", layout="mono", rate=RATE)
    most = int(most_seconds * RATE)
    count = 0
    stated = container.duration
    if stated and stated / 1e6 > most_seconds * 1.01:
        raise _too_long(stated / 1e6, most_seconds)
    frames = container.decode(audio=0)
    while True:
        try:
            frame = next(frames, None)
        except av.FFmpegError:
            if count < RATE:
                raise
            break  # a file that breaks off: what came before is worth hearing
        for piece in resampler.resample(frame):
            samples: Samples = piece.to_ndarray()[0]
            count += len(samples)
            if count > most:
                raise _too_long(None, most_seconds)
            yield samples
        if frame is None:
            break


def _too_long(seconds: float | None, most_seconds: float) -> TakeError:
    how = (
        f"lasts {seconds / 60:.0f} minutes"
        if seconds
        else f"is longer than {most_seconds / 60:.0f} minutes"
    )
    return TakeError(
        f"the recording {how}; cut out the piece itself (at most {most_seconds / 60:.0f} minutes)"
    )


def measure(data: bytes) -> Level:
    """Decode `data` once and measure it. Raises `TakeError` as `blocks` does, and for a recording without a sample."""
    import numpy as np

    powers: list[NDArray[np.float64]] = []
    clipped = frames = count = 0
    rest = np.zeros(0, dtype=np.float32)
    for block in blocks(data):
        count += len(block)
        joined = np.concatenate([rest, block])
        whole = len(joined) // FRAME * FRAME
        grid = joined[:whole].reshape(-1, FRAME)
        rest = joined[whole:]
        powers.append(np.mean(grid.astype(np.float64) ** 2, axis=1))
        clipped += int(_has_cut_wave(grid).sum())
        frames += len(grid)
    if not frames:
        raise TakeError("the recording is shorter than a tenth of a second; record the piece again")
    decibels = 10 * np.log10(np.maximum(np.concatenate(powers), 1e-12))
    return Level(
        count / RATE,
        float(np.percentile(decibels, 95)),
        float(np.percentile(decibels, 10)),
        clipped / frames,
    )


def _has_cut_wave(grid: Samples) -> NDArray[np.bool_]:
    """For every frame (rows of `grid`) whether `CLIPPED_RUN` samples in a row are at full scale."""
    import numpy as np

    full = np.abs(grid) >= FULL_SCALE
    width = grid.shape[1] - CLIPPED_RUN + 1
    runs = full[:, :width].copy()
    for shift in range(1, CLIPPED_RUN):
        runs &= full[:, shift : shift + width]
    return np.asarray(runs.any(axis=1))
