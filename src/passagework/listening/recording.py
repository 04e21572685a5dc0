"""A recording as a `Take`: checked for its level, transcribed, and told plainly when there is nothing to hear."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from passagework.listening.errors import TakeError
from passagework.listening.sound_file import Level, blocks, measure
from passagework.listening.take import PedalHold, PlayedNote, Take
from passagework.listening.transcribe import SUSTAIN, Event, transcribe

SILENT_DB = -65.0
"""Loud moments below this, in dB under full scale, are an empty room or a microphone that was off."""
QUIET_DB = -38.0
"""Loud moments below this are far from the microphone: soft notes drown in the noise of the device."""
CLIPPED_SHARE = 0.01
"""More tenths of a second than this share with a cut wave spoil what is heard of loudness."""
NOISY_DB = 12.0
"""Less than this between loud and quiet moments, in dB, is a noisy room; a piano's own pauses leave 20 and more."""
FEWEST_NOTES = 4
"""Fewer notes than this are no playing."""
SHORTEST_S = 0.02
"""A key is down at least this long."""

Progress = Callable[[str, float], None]
"""Told what is being done, and how much of it, 0 to 1."""


def take_from_recording(
    data: bytes, *, progress: Progress | None = None, stop: Callable[[], bool] | None = None
) -> Take:
    """Listen to a recording (WAV, FLAC, Ogg, MP3, M4A; whatever the decoder knows).

    `progress` is told ("listening", share); `stop` is asked every few seconds of the recording.
    Raises `TakeError` for what is no recording, is silent, too long, or has no piano in it, and where the audio extra is missing;
    `TakeStopped` when `stop` says yes.
    """
    level = measure(data)
    if level.loud_db < SILENT_DB:
        raise TakeError(
            "the recording is silent; check that the microphone was on and near the piano, and record again"
        )

    def report(seconds: float) -> None:
        if progress is not None:
            progress("listening", min(seconds / max(level.seconds, 1e-9), 1.0))

    events = transcribe(blocks(data), report, stop)
    take = _take(events, level)
    if len(take.notes) < FEWEST_NOTES:
        raise TakeError(
            "no piano is heard in the recording; check that it is the right file, and record near the piano"
        )
    return take


def _take(events: Sequence[Event], level: Level) -> Take:
    notes = sorted(
        (
            PlayedNote(
                e.start, max(e.end - e.start, SHORTEST_S), e.pitch, min(max(e.velocity, 1), 127)
            )
            for e in events
            if e.pitch > 0
        ),
        key=lambda note: (note.onset, note.pitch),
    )
    pedals = tuple(
        PedalHold(e.start, e.end) for e in events if e.pitch == SUSTAIN and e.end > e.start
    )
    return Take(tuple(notes), pedals, source="recording", warnings=tuple(warnings_of(level)))


def warnings_of(level: Level) -> list[str]:
    """What a teacher should know of the recording's quality, a sentence each."""
    rows = []
    if level.loud_db < QUIET_DB:
        rows.append(
            f"The recording is too quiet ({level.loud_db:.0f} dB at its loudest): soft notes may not have been heard. "
            "Put the microphone nearer to the piano."
        )
    if level.clipped_share > CLIPPED_SHARE:
        rows.append(
            f"The recording is clipped in {level.clipped_share:.0%} of its length: it was too loud for the microphone, "
            "and loudness cannot be judged well. Move the microphone away or turn its level down."
        )
    if level.loud_db - level.floor_db < NOISY_DB:
        rows.append(
            f"The recording is noisy (only {level.loud_db - level.floor_db:.0f} dB between loud and quiet moments): some notes "
            "may be wrong. Close windows, and put the microphone nearer."
        )
    return rows
