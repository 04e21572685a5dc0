"""A take as a Standard MIDI File."""

from __future__ import annotations

from io import BytesIO

from passagework.listening.take import Take

TICKS_PER_QUARTER = 1000
"""With a quarter note of half a second this makes a tick half a millisecond."""
MICROSECONDS_PER_QUARTER = 500_000
DAMPER = 64


def to_midi_bytes(take: Take) -> bytes:
    """`take` as the bytes of a MIDI file of type 0: notes, velocities and the damper pedal, times to half a millisecond."""
    import mido

    ticks_per_second = TICKS_PER_QUARTER * 1_000_000 / MICROSECONDS_PER_QUARTER
    rows: list[tuple[int, int, mido.Message]] = []
    for note in take.notes:
        start = round(note.onset * ticks_per_second)
        end = max(round(note.end * ticks_per_second), start + 1)
        rows.append((start, 2, mido.Message("note_on", note=note.pitch, velocity=note.velocity)))
        rows.append((end, 0, mido.Message("note_off", note=note.pitch, velocity=64)))
    for hold in take.pedals:
        for second, value in ((hold.start, 127), (hold.end, 0)):
            message = mido.Message("control_change", control=DAMPER, value=value)
            rows.append((round(second * ticks_per_second), 1, message))
    rows.sort(key=lambda row: (row[0], row[1]))
    file = mido.MidiFile(type=0, ticks_per_beat=TICKS_PER_QUARTER)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.MetaMessage("set_tempo", tempo=MICROSECONDS_PER_QUARTER, time=0))
    track.append(mido.Message("program_change", program=0, time=0))
    now = 0
    for tick, _, message in rows:
        track.append(message.copy(time=tick - now))
        now = tick
    track.append(mido.MetaMessage("end_of_track", time=0))
    data = BytesIO()
    file.save(file=data)
    return data.getvalue()
