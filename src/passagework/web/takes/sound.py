"""The sound of a take: of a recording as it came in, of MIDI as the server's piano plays it."""

from __future__ import annotations

from importlib.util import find_spec
from typing import Final

from fastapi import APIRouter, HTTPException
from starlette.responses import Response

from passagework.studio.computed import ComputedKey
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.jobs import Report

router = APIRouter(prefix="/takes", tags=["takes"])

WAIT_S: Final = 60.0
"""Seconds that a request waits; five minutes of playing take two or three."""
TAIL_S: Final = 1.5
"""Seconds that the last sound may ring on."""
LONGEST_S: Final = 1200.0
"""Twenty minutes: what is longer is better opened in a program of its own."""


def can_sound() -> bool:
    """Whether this machine can make sound of MIDI."""
    return find_spec("midirenderer") is not None and find_spec("soundfile") is not None


def sound_job(report: Report, data: bytes) -> bytes:
    """A worker plays a MIDI take; gives Ogg Vorbis. Raises `SoundError` or `TakeError`."""
    from passagework.listening.midi_take import take_from_midi
    from passagework.sound.audio import render
    from passagework.sound.errors import SoundError
    from passagework.sound.files import audio_file
    from passagework.sound.performance import PedalDown, Performance, PlayedNote

    report(None, "Playing the take")
    take = take_from_midi(data)
    if take.length > LONGEST_S:
        raise SoundError(f"the take is longer than {LONGEST_S / 60:.0f} minutes")
    # Left and right only choose a channel here, and both channels are the same piano.
    notes = tuple(PlayedNote(n.onset, n.end, n.pitch, n.velocity, "", "right") for n in take.notes)
    pedals = tuple(PedalDown(p.start, p.end) for p in take.pedals)
    performance = Performance("", notes, pedals, (), (), (), (), 0.0, take.length)
    return audio_file(render(performance, tail=TAIL_S), "ogg")


@router.get("/{number}/sound.ogg")
def sound(studio: StudioOf, jobs: JobsOf, number: Id) -> Response:
    """A MIDI take to be heard."""
    take = studio.takes.get(number)
    if take.kind != "midi":
        raise HTTPException(404, "This take is a recording; it is heard as it is.")
    key = ComputedKey(take.hash, "take-sound/1")
    data = studio.computed.get(key)
    if data is None:
        job = jobs.submit(
            "sound", sound_job, (studio.takes.file(number),), f"take-sound:{take.hash}",
            title="Playing a take", keep=lambda found: studio.computed.put(key, found),
        )  # fmt: skip
        job = jobs.wait(job.id, WAIT_S)
        data = studio.computed.get(key)
        if data is None:
            raise HTTPException(422, job.error or "The sound is not ready yet. Try again soon.")
    return Response(data, media_type="audio/ogg")
