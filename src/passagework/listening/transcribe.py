"""Notes from samples: the published transcription model (Yan and Duan, 2024), driven by our own code.

The model reads 16 seconds at a time. Segments overlap, so that a note held over a border is heard whole: a note that a segment sees
without its beginning continues the one before it.

The weights come with the installed package and are read as plain tensors (``weights_only``). The package asks for `torchaudio` only to
compute one filter bank that the weights hold as well, so a stand-in takes its place while the model is built.
"""

from __future__ import annotations

import json
import math
import sys
import warnings
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import resources
from importlib.util import find_spec
from itertools import chain
from types import ModuleType, SimpleNamespace
from typing import TYPE_CHECKING, Any

from passagework.listening.errors import TakeError, TakeStopped
from passagework.listening.sound_file import RATE

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Samples = NDArray[np.float32]

SEGMENT_SECONDS = 16.0
"""What the model was trained to read at once."""
STEP_SECONDS = 12.0
"""From one segment's start to the next one's. With 8 seconds every moment is read twice, which takes half as long again and heard
no note better (half a minute of a synthesised concert recording: the same notes, velocities correlated .957 and .962)."""
SILENT_POWER = 1e-7
"""Mean square (-70 dB below full scale) under which a segment is not read: the model evens out loudness, and would hear notes in
the noise of an empty room."""
SUSTAIN = -64
"""The "pitch" under which the model reports the damper pedal."""

Progress = Callable[[float], None]
Stop = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Event:
    """One event: a key or the damper pedal held, in seconds."""

    start: float
    end: float
    pitch: int
    velocity: int
    begins: bool
    """Whether its beginning was heard, and not only its going on."""


def is_installed() -> bool:
    """Whether the transcription can be used here."""
    return all(find_spec(name) is not None for name in ("torch", "transkun", "av"))


def transcribe(
    stream: Iterable[Samples], progress: Progress | None = None, stop: Stop | None = None
) -> list[Event]:
    """Events of a stream of blocks (mono, `RATE`), in order of start, then pitch.

    `progress` is told the seconds that have been read; `stop` is asked before every segment.
    Raises `TakeStopped` when it says yes, `TakeError` where the audio extra is missing.
    """
    import torch

    model = _model()
    hop = model.hopSize / RATE
    step_frames = round(STEP_SECONDS / hop)
    step = step_frames * model.hopSize
    length = math.ceil(SEGMENT_SECONDS * RATE)
    lead = length - step
    forced = [math.floor(lead / model.hopSize)] * len(model.targetMIDIPitch)
    held: dict[int, list[Event]] = defaultdict(list)
    with torch.inference_mode(), warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the model's own, about training
        for number, segment in enumerate(_segments(stream, length, step, lead)):
            if stop is not None and stop():
                raise TakeStopped
            begin = (number * step - lead) / RATE
            if float((segment**2).mean()) < SILENT_POWER:
                forced = [0] * len(forced)
            else:
                events, last = _read(model, segment, forced)
                forced = [max(frame - step_frames, 0) for frame in last]
                for event in events:
                    _join(held[event.pitch], _moved(event, begin))
            if progress is not None:
                progress(max(begin + STEP_SECONDS, 0.0))
    return sorted((e for row in held.values() for e in row), key=lambda e: (e.start, e.pitch))


def _segments(stream: Iterable[Samples], length: int, step: int, lead: int) -> Iterator[Samples]:
    """Windows of `length` samples, `step` apart, with `lead` samples of silence before the first and after the last."""
    import numpy as np

    kept = np.zeros(lead, dtype=np.float32)
    ended = np.zeros(lead, dtype=np.float32)
    for block in chain(_collected(stream, step), [ended]):
        kept = np.concatenate([kept, block])
        while len(kept) >= length:
            yield kept[:length]
            kept = kept[step:]
    while len(kept) > lead:
        yield np.pad(kept[:length], (0, max(length - len(kept), 0)))
        kept = kept[step:]


def _collected(stream: Iterable[Samples], size: int) -> Iterator[Samples]:
    """The same samples in blocks of about `size`: joining many small ones one by one would cost their square."""
    import numpy as np

    row: list[Samples] = []
    count = 0
    for block in stream:
        row.append(block)
        count += len(block)
        if count >= size:
            yield np.concatenate(row)
            row, count = [], 0
    if row:
        yield np.concatenate(row)


def _read(model: Any, segment: Samples, forced: list[int]) -> tuple[list[Event], list[int]]:
    """The events of a segment, with times from its start, and for each pitch the frame in which its last one ended."""
    import torch
    from transkun.Util import makeFrame

    frames = makeFrame(torch.from_numpy(segment)[None, :], model.hopSize, model.windowSize)
    found, last = model.transcribeFrames(
        frames.unsqueeze(0),
        forcedStartPos=forced,
        velocityCriteron="hamming",
        lastFrameIdx=round(len(segment) / model.hopSize),
    )
    rows = [
        Event(float(e.start), float(e.end), int(e.pitch), int(e.velocity), bool(e.hasOnset))
        for e in found[0]
    ]
    return rows, [int(frame) for frame in last]


def _moved(event: Event, seconds: float) -> Event:
    start = max(event.start + seconds, 0.0)
    return replace(event, start=start, end=max(event.end + seconds, start))


def _join(row: list[Event], event: Event) -> None:
    """Add an event of one pitch to those of the segments before."""
    if row and event.start < row[-1].end:
        before = row[-1]
        if event.begins:
            row[-1] = (
                event  # the same stroke, or the end of the one before, seen with more around it
            )
        else:
            row[-1] = replace(before, end=max(before.end, event.end))
    elif event.begins:
        row.append(event)


@lru_cache(maxsize=1)
def _model() -> Any:
    """The model with its weights, ready to read. Raises `TakeError` where the audio extra is missing."""
    try:
        import torch
        from transkun import ModelTransformer
    except ImportError:
        raise TakeError(
            "recordings need the audio extra: pip install 'passagework[audio]' "
            "(a MIDI file from a digital piano needs nothing more)"
        ) from None
    folder = resources.files("transkun.pretrained")
    settings = ModelTransformer.Config()
    stored = json.loads(folder.joinpath("2.0.conf").read_text())
    vars(settings).update(stored["Model"]["config"])
    with _without_torchaudio():
        model = ModelTransformer.TransKun(conf=settings)
    with folder.joinpath("2.0.pt").open("rb") as stream:
        weights = torch.load(stream, map_location="cpu", weights_only=True)
    model.load_state_dict(weights.get("best_state_dict") or weights["state_dict"])
    model.eval()
    return model


class _without_torchaudio:  # noqa: N801 - reads as a statement
    """A stand-in for the one function of `torchaudio` that the model's constructor calls."""

    def __enter__(self) -> None:
        self._before = sys.modules.get("torchaudio")
        stand_in = ModuleType("torchaudio")
        stand_in.functional = SimpleNamespace(melscale_fbanks=_empty_bank)  # type: ignore[attr-defined]
        sys.modules["torchaudio"] = stand_in

    def __exit__(self, *_: object) -> None:
        if self._before is None:
            del sys.modules["torchaudio"]
        else:
            sys.modules["torchaudio"] = self._before


def _empty_bank(n_freqs: int, n_mels: int, **_: object) -> Any:
    """Zeros in the shape of the filter bank, which the weights then fill."""
    import torch

    return torch.zeros(n_freqs, n_mels)
