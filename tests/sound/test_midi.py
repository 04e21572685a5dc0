from __future__ import annotations

from collections.abc import Callable
from io import BytesIO

import mido
import pytest

from passagework.score import Reading, read_score
from passagework.sound.midi import TICKS, to_midi
from passagework.sound.perform import perform
from passagework.sound.performance import Performance
from tests.score.small import attributes, note, score
from tests.spots.build import piece


def read(done: Performance) -> mido.MidiFile:
    return mido.MidiFile(file=BytesIO(to_midi(done)))


def sounding(file: mido.MidiFile) -> list[tuple[float, int, int]]:
    """(seconds, key, velocity) of every stroke of the hands, as any player of MIDI files plays it."""
    now, found = 0.0, []
    for message in file:
        now += message.time
        if message.type == "note_on" and message.channel != 9:
            found.append((now, message.note, message.velocity))
    return found


def test_the_file_says_what_the_performance_says() -> None:
    music = piece("R: C5/1 D5/1!fermata E5/2; L: C3+G3/4!arp", tempo=72)
    done = perform(music, count_in=1, click=True)
    file = read(done)
    assert (file.type, file.ticks_per_beat) == (1, TICKS)
    assert file.length == pytest.approx(done.duration, abs=0.001)
    expected = [(n.start, n.pitch, n.velocity) for n in done.notes]
    for (start, pitch, force), (seconds, key, velocity) in zip(
        expected, sorted(sounding(file)), strict=True
    ):
        assert (key, velocity) == (pitch, force)
        assert seconds == pytest.approx(start, abs=0.001)


def test_tracks_metres_and_clicks() -> None:
    """3/4 with a pickup of a crotchet, without and with a count-in."""
    text = score(
        attributes(4, "3/4", fifths=-3, staves=1) + note("C4", 4, staff=""),
        note("D4", 12, kind="half", after="<dot/>", staff=""),
    )
    music = read_score(text.encode()).piece
    file = read(perform(music, tempo=60))
    metres = [(m.numerator, m.denominator) for m in file.tracks[0] if m.type == "time_signature"]
    assert metres == [(1, 4), (3, 4)]
    assert [m.key for m in file.tracks[0] if m.type == "key_signature"] == ["Eb"]
    assert [m.tempo for m in file.tracks[0] if m.type == "set_tempo"] == [1_000_000]
    assert [t.name for t in file.tracks[1:]] == ["Right hand", "Left hand"]
    counted = read(perform(music, tempo=60, count_in=1))
    assert [(m.numerator, m.denominator) for m in counted.tracks[0] if m.type == "time_signature"] == [
        (3, 4), (2, 4), (1, 4), (3, 4),
    ]  # fmt: skip
    clicks = [m for m in counted.tracks[3] if m.type == "note_on"]
    assert [(m.note, m.velocity) for m in clicks] == [
        (76, 127), (77, 96), (77, 96), (76, 127), (77, 96),
    ]  # fmt: skip


def test_pedal_is_up_before_the_keys_and_on_both_channels() -> None:
    file = read(perform(piece("R: @& C5/2 @* @& D5/2 @*; L: C3/4", tempo=60)))
    for track in file.tracks[1:]:
        assert [m.value for m in track if m.type == "control_change"] == [127, 0, 127, 0]


def test_the_same_performance_gives_the_same_bytes(demo: Callable[[str], Reading]) -> None:
    music = demo("evening-ferry").piece
    first = to_midi(perform(music, count_in=1, click=True, unfold=True))
    assert first == to_midi(perform(music, count_in=1, click=True, unfold=True))


def test_a_title_in_any_script_is_kept() -> None:
    music = perform(piece("R: C5/4"))
    from dataclasses import replace

    titled = replace(music, title="Øvelse nr. 2 – 練習")
    file = mido.MidiFile(file=BytesIO(to_midi(titled)), charset="utf-8")
    assert file.tracks[0].name == "Øvelse nr. 2 – 練習"
