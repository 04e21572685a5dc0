"""MIDI files of every kind as takes; times worked out by hand."""

from __future__ import annotations

import time
from io import BytesIO
from struct import pack

import mido
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.listening.errors import TakeError
from passagework.listening.midi_take import take_from_midi


def variable(value: int) -> bytes:
    out = [value & 0x7F]
    while value := value >> 7:
        out.append(value & 0x7F | 0x80)
    return bytes(reversed(out))


def track(*events: tuple[int, bytes], close: bool = True) -> bytes:
    body = b"".join(variable(delta) + event for delta, event in events)
    if close:
        body += b"\x00\xff\x2f\x00"
    return b"MTrk" + pack(">I", len(body)) + body


def file(*tracks: bytes, form: int = 1, division: int = 480) -> bytes:
    return b"MThd" + pack(">IHHH", 6, form, len(tracks), division) + b"".join(tracks)


def on(pitch: int, velocity: int = 64, channel: int = 0) -> bytes:
    return bytes([0x90 | channel, pitch, velocity])


def off(pitch: int, channel: int = 0) -> bytes:
    return bytes([0x80 | channel, pitch, 0])


def damper(value: int, channel: int = 0) -> bytes:
    return bytes([0xB0 | channel, 64, value])


def tempo(microseconds: int) -> bytes:
    return b"\xff\x51\x03" + microseconds.to_bytes(3, "big")


def rows(data: bytes) -> list[tuple[float, float, int, int]]:
    return [
        (round(n.onset, 6), round(n.duration, 6), n.pitch, n.velocity)
        for n in take_from_midi(data).notes
    ]


def test_without_a_tempo_a_quarter_lasts_half_a_second() -> None:
    data = file(track((0, on(60, 70)), (480, off(60)), (480, on(62, 80)), (240, on(62, 0))))
    assert rows(data) == [(0.0, 0.5, 60, 70), (1.0, 0.25, 62, 80)]


def test_tempo_changes_hold_for_every_track() -> None:
    conductor = track((0, tempo(1_000_000)), (480, tempo(250_000)))
    hands = track((480, on(60)), (480, off(60))), track((240, on(40)), (480, off(40)))
    # the note at a half quarter lasts half a quarter at 60 and half a quarter at 240
    assert rows(file(conductor, *hands)) == [(0.5, 0.5 + 0.125, 40, 64), (1.0, 0.25, 60, 64)]


def test_film_frames_are_seconds_whatever_the_tempo() -> None:
    data = file(track((0, tempo(100_000)), (0, on(60)), (1000, off(60))), division=0xE728)
    assert rows(data) == [(0.0, 1.0, 60, 64)]  # 25 frames of 40 ticks
    dropped = file(track((0, on(60)), (30_000, off(60))), division=(256 - 29) << 8 | 10)
    assert rows(dropped) == [(0.0, 100.1, 60, 64)]  # 300 ticks to 1.001 s


def test_tracks_of_format_two_follow_each_other() -> None:
    one = track((0, tempo(1_000_000)), (0, on(60)), (480, off(60)))
    two = track((480, on(64)), (480, off(64)))
    silent = track((0, tempo(300_000)))
    assert rows(file(one, silent, two, form=2)) == [(0.0, 1.0, 60, 64), (1.5, 0.5, 64, 64)]


def test_a_key_struck_again_ends_what_it_held() -> None:
    data = file(track((0, on(60, 50)), (480, on(60, 90)), (480, off(60)), (0, off(60))))
    assert rows(data) == [(0.0, 0.5, 60, 50), (0.5, 0.5, 60, 90)]


def test_a_hanging_note_ends_with_its_track() -> None:
    assert rows(file(track((0, on(60)), (960, on(64)), (480, off(64))))) == [
        (0.0, 1.5, 60, 64),
        (1.0, 0.5, 64, 64),
    ]


def test_unisons_stay_two_strokes_and_are_remarked_on() -> None:
    take = take_from_midi(
        file(track((0, on(60)), (480, off(60))), track((0, on(60, 40)), (240, off(60))))
    )
    assert [n.pitch for n in take.notes] == [60, 60]
    assert any("twice" in line for line in take.warnings)


def test_drums_are_left_out() -> None:
    beat = (0, on(35, 99, 9)), (240, off(35, 9))
    assert rows(file(track((0, on(60)), (240, off(60)), *beat))) == [(0.0, 0.25, 60, 64)]
    with pytest.raises(TakeError, match="no notes"):
        take_from_midi(file(track(*beat)))


def test_the_pedal_is_down_from_64_and_while_any_channel_holds_it() -> None:
    data = file(
        track((0, on(60)), (480, damper(63)), (480, damper(64)), (480, damper(127)), (480, damper(40)),
              (480, damper(90)), (0, damper(90, 1)), (480, damper(0)), (480, damper(0, 1)), (480, off(60)))
    )  # fmt: skip
    holds = [(round(p.start, 6), round(p.end, 6)) for p in take_from_midi(data).pedals]
    assert holds == [(1.0, 2.0), (2.5, 3.5)]


def test_a_pedal_that_flutters_or_hangs() -> None:
    data = file(
        track((0, on(60)), (480, damper(70)), (480, damper(60)), (10, damper(70)), (950, off(60)))
    )
    holds = [(round(p.start, 6), round(p.end, 6)) for p in take_from_midi(data).pedals]
    assert holds == [(0.5, 2.0)]


def test_notes_are_in_order_of_onset_then_pitch() -> None:
    data = file(
        track((0, on(67)), (0, on(60)), (0, on(64)), (9, off(60)), (0, off(64)), (0, off(67)))
    )
    assert [n.pitch for n in take_from_midi(data).notes] == [60, 64, 67]


def test_a_file_cut_short_gives_what_it_holds() -> None:
    whole = file(track(*[e for p in range(40, 80) for e in ((0, on(p)), (120, off(p)))]))
    take = take_from_midi(whole[: len(whole) // 2])
    assert 15 <= len(take.notes) < 40
    assert any("cut short" in line for line in take.warnings)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "not a MIDI file"),
        (b"RIFF....WAVEfmt ", "not a MIDI file"),
        (b"MThd", "no header"),
        (file(track()), "no notes"),
        (file(), "no notes"),
        (file(track((0, on(60))), division=0), "no ticks"),
        (file(track((0, on(60)), (0x0FFFFFFF, on(61)), (0, off(61)))), "hours"),
        (b"MThd" + bytes(6_000_000), "larger than"),
    ],
)  # fmt: skip
def test_a_take_that_cannot_be_used_says_so_in_one_line(data: bytes, words: str) -> None:
    with pytest.raises(TakeError, match=words) as caught:
        take_from_midi(data)
    assert "\n" not in str(caught.value)
    assert ";" in str(caught.value)


def test_a_hostile_file_costs_no_more_than_its_size() -> None:
    """A megabyte of strokes: a note takes four bytes, and the number of notes is bounded."""
    body = b"\x01\x90\x3c\x40" + b"\x01\x3c\x40" * 330_000
    start = time.process_time()
    with pytest.raises(TakeError, match="more than 60,000 notes"):
        take_from_midi(file(b"MTrk" + pack(">I", len(body)) + body))
    assert time.process_time() - start < 5.0


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=400), st.integers(0, 2), st.integers(0, 0xFFFF))
def test_any_bytes_give_a_take_or_one_line(body: bytes, form: int, division: int) -> None:
    data = file(b"MTrk" + pack(">I", len(body)) + body, form=form, division=division)
    try:
        take = take_from_midi(data)
    except TakeError:
        return
    keys = [(n.onset, n.pitch) for n in take.notes]
    assert keys == sorted(keys)
    assert all(
        n.duration > 0 and 0 <= n.pitch <= 127 and 1 <= n.velocity <= 127 for n in take.notes
    )
    assert all(a.end < b.start for a, b in zip(take.pedals, take.pedals[1:], strict=False))


def test_it_agrees_with_another_reader() -> None:
    """mido's own playing times, as the second opinion, on a file that mido wrote."""
    source = mido.MidiFile(ticks_per_beat=96)
    line = source.add_track()
    line.append(mido.MetaMessage("set_tempo", tempo=400_000))
    for i in range(50):
        line.append(mido.Message("note_on", note=40 + i, velocity=i + 1, time=i % 7))
        line.append(mido.Message("note_off", note=40 + i, time=11))
        if i % 9 == 0:
            line.append(mido.MetaMessage("set_tempo", tempo=300_000 + 9_000 * i, time=3))
    out = BytesIO()
    source.save(file=out)
    clock, expected = 0.0, []
    for message in source:
        clock += message.time
        if message.type == "note_on":
            expected.append((clock, message.note, message.velocity))
    found = [(n.onset, n.pitch, n.velocity) for n in take_from_midi(out.getvalue()).notes]
    assert [f[1:] for f in found] == [e[1:] for e in expected]
    assert max(abs(f[0] - e[0]) for f, e in zip(found, expected, strict=True)) < 1e-9
