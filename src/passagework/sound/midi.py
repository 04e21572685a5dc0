"""A performance as a Standard MIDI File (MIDI 1.0 specification, 1996): bars, beats and tempo as on the page.

Format 1, `TICKS` to the quarter: a track of tempo, metres and keys, one for each hand (channels 1 and 2, General MIDI's
grand piano), one for the metronome (channel 10, wood blocks). The same performance gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from io import BytesIO

import mido

from passagework.score.piece import Side, TimeSignature
from passagework.sound.performance import Performance

TICKS = 1920
"""Ticks to a quarter: 0.5 ms at 60 quarters a minute."""
SIDES: tuple[Side, Side] = ("right", "left")
CHANNELS: dict[Side, int] = {"right": 0, "left": 1}
CLICK_CHANNEL = 9
HIGH_BLOCK, LOW_BLOCK = 76, 77
"""General MIDI's *hi* and *low wood block*."""
CLICK_KEYS = {2: (HIGH_BLOCK, 127), 1: (HIGH_BLOCK, 96), 0: (LOW_BLOCK, 96)}
"""Key and velocity of a click by its accent."""
CLICK_S = 0.05
DAMPER, DOWN, UP = 64, 127, 0
RELEASE = 64
"""Release velocity: the default that the specification gives."""

Event = tuple[float, int, mido.Message]
"""Quarters, rank at one time, message."""

OFF, PEDAL_UP, PEDAL_DOWN, ON = 0, 1, 2, 3
"""Ranks: keys come up before the pedal, the pedal changes before keys go down."""


def to_midi(performance: Performance) -> bytes:
    """`performance` as the bytes of a MIDI file."""
    end = performance.quarters(performance.duration)
    tracks = [_conductor(performance, end)]
    for side in SIDES:
        name = "Right hand" if side == "right" else "Left hand"
        program = mido.Message("program_change", channel=CHANNELS[side], program=0)
        tracks.append(_track(name, [(0.0, -1, program), *hand_events(performance, side)], end))
    if performance.clicks:
        tracks.append(_track("Metronome", click_events(performance), end))
    file = mido.MidiFile(type=1, ticks_per_beat=TICKS, charset="utf-8")
    file.tracks.extend(tracks)
    out = BytesIO()
    file.save(file=out)
    return out.getvalue()


def hand_events(performance: Performance, side: Side) -> list[Event]:
    """Keys and pedal of one hand, by quarters."""
    at, channel = performance.quarters, CHANNELS[side]
    events: list[Event] = []
    for note in performance.notes:
        if note.hand != side:
            continue
        on = mido.Message("note_on", channel=channel, note=note.pitch, velocity=note.velocity)
        off = mido.Message("note_off", channel=channel, note=note.pitch, velocity=RELEASE)
        events += [(at(note.start), ON, on), (at(note.end), OFF, off)]
    for pedal in performance.pedals:
        for time, rank, value in (
            (pedal.start, PEDAL_DOWN, DOWN),
            (pedal.end, PEDAL_UP, UP),
        ):
            message = mido.Message("control_change", channel=channel, control=DAMPER, value=value)
            events.append((at(time), rank, message))
    return events


def click_events(performance: Performance) -> list[Event]:
    """The metronome, by quarters."""
    at = performance.quarters
    events: list[Event] = []
    for click in performance.clicks:
        key, force = CLICK_KEYS[click.accent]
        on = mido.Message("note_on", channel=CLICK_CHANNEL, note=key, velocity=force)
        off = mido.Message("note_off", channel=CLICK_CHANNEL, note=key, velocity=RELEASE)
        events += [(at(click.start), ON, on), (at(click.start + CLICK_S), OFF, off)]
    return events


def _track(name: str, events: Iterable[Event], end: float) -> mido.MidiTrack:
    track = mido.MidiTrack()
    track.append(mido.MetaMessage("track_name", name=name, time=0))
    last = 0
    for quarters, _, message in sorted(events, key=_place):
        tick = max(last, round(quarters * TICKS))
        track.append(message.copy(time=tick - last))
        last = tick
    track.append(mido.MetaMessage("end_of_track", time=max(0, round(end * TICKS) - last)))
    return track


def _place(event: Event) -> tuple[int, int, int, int]:
    quarters, rank, message = event
    key = getattr(message, "note", 0) if message.type.startswith("note") else 0
    return round(quarters * TICKS), rank, message.type == "control_change", key


def _conductor(performance: Performance, end: float) -> mido.MidiTrack:
    events: list[Event] = []
    for pace in performance.paces:
        tempo = mido.MetaMessage("set_tempo", tempo=round(60e6 / pace.quarters_per_minute))
        events.append((float(pace.quarters), 0, tempo))
    metre: tuple[int, int] | None = None
    fifths: int | None = None
    for bar in performance.bars:
        shown = _metre(bar.time, bar.length)
        if shown is not None and shown != metre:
            metre = shown
            clocks = max(1, min(255, round(24 * bar.time.beat)))
            message = mido.MetaMessage(
                "time_signature", numerator=shown[0], denominator=shown[1], clocks_per_click=clocks
            )
            events.append((float(bar.quarters), 1, message))
        if bar.fifths != fifths:
            fifths = bar.fifths
            key = mido.MetaMessage("key_signature", key=_KEYS[fifths + 7])
            events.append((float(bar.quarters), 2, key))
    return _track(performance.title or "Piano", events, end)


_KEYS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")
"""Keys by signature, from seven flats to seven sharps."""


def _metre(time: TimeSignature, length: Fraction) -> tuple[int, int] | None:
    """The metre that gives a bar of `length`, so that bar lines fall where they are printed; None for none."""
    if length == time.length:
        return (min(sum(time.beats), 255), time.beat_type)
    wholes = length / 4
    denominator = max(wholes.denominator, 4)
    numerator = wholes * denominator
    if denominator > 64 or denominator & (denominator - 1) or not 0 < numerator <= 255:
        return None
    return (int(numerator), denominator)
