"""The door for takes: MIDI or a recording, told apart by content."""

from __future__ import annotations

from collections.abc import Callable

from passagework.listening.errors import TakeError
from passagework.listening.take import Take

Progress = Callable[[str, float], None]


def is_midi(data: bytes) -> bool:
    """Whether `data` begins as a MIDI file does (bare, or wrapped in RIFF)."""
    return data[:4] == b"MThd" or (data[:4] == b"RIFF" and data[8:12] == b"RMID")


def read_take(
    data: bytes, *, progress: Progress | None = None, stop: Callable[[], bool] | None = None
) -> Take:
    """The take that `data` holds.

    `progress` is told what is being done and how much of it (0 to 1); `stop` is asked now and then.
    Raises `TakeError` for what is no take, `TakeStopped` when `stop` says yes.
    """
    if not data:
        raise TakeError("the file is empty", do="save the take again")
    if is_midi(data):
        from passagework.listening.midi_take import take_from_midi

        return take_from_midi(data)
    from passagework.listening.recording import take_from_recording

    return take_from_recording(data, progress=progress, stop=stop)
