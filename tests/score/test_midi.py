"""MIDI: what is written there comes back, and what is guessed is said."""

from __future__ import annotations

import io
from collections.abc import Callable
from fractions import Fraction

import mido
import pytest

from passagework.score import Note, Piece, Reading, read_score
from passagework.score.midi_spelling import find_key, spell
from passagework.score.midi_values import cut
from tests.score.promises import check_piece

TICKS = 480


def midi_of(piece: Piece, *, tracks: bool) -> bytes:
    """`piece` as a MIDI file with exact ticks: a track for each hand, or one for both."""
    file = mido.MidiFile(ticks_per_beat=TICKS)
    rows: dict[str, list[tuple[int, int, int]]] = {"right": [], "left": []}
    for note in piece.notes:
        if not note.grace:
            on, off = round(note.onset * TICKS), round(note.end * TICKS)
            row = rows[note.hand if tracks else "right"]
            row += [(on, 1, note.midi), (max(off, on + 1), 0, note.midi)]
    meta = mido.MidiTrack()
    now, last = 0, None
    for bar in piece.bars:
        if bar.time != last:
            tick = round(bar.onset * TICKS)
            meta.append(
                mido.MetaMessage(
                    "time_signature",
                    numerator=sum(bar.time.beats),
                    denominator=bar.time.beat_type,
                    time=tick - now,
                )
            )
            now, last = tick, bar.time
    file.tracks.append(meta)
    for events in rows.values():
        if events:
            track, now = mido.MidiTrack(), 0
            for tick, on, pitch in sorted(events):
                track.append(mido.Message("note_on", note=pitch, velocity=64 * on, time=tick - now))
                now = tick
            file.tracks.append(track)
    out = io.BytesIO()
    file.save(file=out)
    return out.getvalue()


def struck(piece: Piece) -> dict[tuple[Fraction, int], set[str]]:
    """Hands by (onset, pitch); onsets are counted from the first note."""
    notes: list[Note] = [note for note in piece.notes if not note.grace]
    first = notes[0].onset
    rows: dict[tuple[Fraction, int], set[str]] = {}
    for note in notes:
        rows.setdefault((note.onset - first, note.midi), set()).add(note.hand)
    return rows


def agreement(piece: Piece, *, tracks: bool) -> tuple[float, float]:
    """(share of notes that come back in their place, share of those with their hand)."""
    again = read_score(midi_of(piece, tracks=tracks), "a.mid").piece
    check_piece(again)
    before, after = struck(piece), struck(again)
    both = before.keys() & after.keys()
    same = sum(bool(before[key] & after[key]) for key in both)
    return len(both) / len(before), same / len(both)


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_demo_pieces_come_back(demo: Callable[[str], Reading], name: str) -> None:
    piece = demo(name).piece
    assert agreement(piece, tracks=True) == (1.0, 1.0)
    place, hands = agreement(piece, tracks=False)
    assert place == 1.0
    assert hands > 0.9


@pytest.mark.parametrize(
    "name", ["bach-prelude-846", "schubert-moment-3", "rachmaninoff-prelude-32-5"]
)
def test_real_scores_come_back(real: Callable[[str], Piece], name: str) -> None:
    place, hands = agreement(real(name), tracks=True)
    assert place >= 0.98
    assert hands == 1.0


def test_a_note_over_the_bar_line_is_tied() -> None:
    file = mido.MidiFile(ticks_per_beat=96)
    track = mido.MidiTrack()
    file.tracks.append(track)
    track.append(mido.Message("note_on", note=60, velocity=64, time=0))
    track.append(mido.Message("note_on", note=60, velocity=0, time=96))
    track.append(mido.Message("note_on", note=62, velocity=64, time=96))
    track.append(mido.Message("note_on", note=62, velocity=0, time=384))
    out = io.BytesIO()
    file.save(file=out)
    piece = read_score(out.getvalue(), "a.mid").piece
    assert [(n.onset, n.duration, n.midi, len(n.ids)) for n in piece.notes] == [
        (0, 1, 60, 1),
        (2, 4, 62, 2),
    ]
    assert any("guess" in warning for warning in piece.warnings)


def test_a_unison_of_two_voices_keeps_both_lengths() -> None:
    file = mido.MidiFile(ticks_per_beat=96)
    track = mido.MidiTrack()
    file.tracks.append(track)
    for kind, time in (("on", 0), ("on", 0), ("off", 48), ("off", 336), ("on", 0), ("off", 96)):
        track.append(mido.Message(f"note_{kind}", note=60, velocity=64, time=time))
    out = io.BytesIO()
    file.save(file=out)
    piece = read_score(out.getvalue(), "a.mid").piece
    assert sorted((n.onset, n.duration) for n in piece.notes) == [
        (0, Fraction(1, 2)),
        (0, 4),
        (4, 1),
    ]


@pytest.mark.parametrize("name", ["rachmaninoff-prelude-32-5", "schumann-arabeske-18"])
def test_lengths_of_real_scores_come_back(real: Callable[[str], Piece], name: str) -> None:
    piece = real(name)
    again = read_score(midi_of(piece, tracks=True), "a.mid").piece
    lengths: dict[tuple[Fraction, int], set[Fraction]] = {}
    for note in again.notes:
        lengths.setdefault((note.onset, note.midi), set()).add(note.duration)
    plain = [note for note in piece.notes if not note.grace]
    met = sum(n.duration in lengths.get((n.onset, n.midi), ()) for n in plain)
    assert met / len(plain) >= 0.97


def test_values_do_not_hide_the_beat() -> None:
    # From the second half of beat 1 to the second half of beat 3 in common time: three printed values.
    values = cut(Fraction(1, 2), Fraction(5, 2), Fraction(0), Fraction(1))
    assert [v.length for v in values] == [1, 1]
    # A third of a quarter and what is left of it, up to the bar's end.
    values = cut(Fraction(1, 3), Fraction(2), Fraction(0), Fraction(1))
    assert [(v.length, v.actual, v.normal) for v in values] == [
        (Fraction(1, 3), 3, 2),
        (Fraction(1, 3), 3, 2),
        (1, 1, 1),
    ]
    assert sum(v.length for v in values) == Fraction(5, 3)


def test_spelling_follows_the_signature() -> None:
    assert [str(spell(midi, 0)) for midi in (60, 61, 66, 68, 70)] == [
        "C4",
        "C#4",
        "F#4",
        "G#4",
        "Bb4",
    ]
    assert [str(spell(midi, -3)) for midi in (63, 68, 61, 66)] == ["Eb4", "Ab4", "Db4", "Gb4"]
    assert str(spell(59, -7)) == "Cb4"
    for fifths in range(-7, 8):
        assert all(spell(midi, fifths).midi == midi for midi in range(21, 109))


def test_the_key_of_a_scale_is_found() -> None:
    for tonic in range(12):
        weights = [0.0] * 12
        for degree, weight in zip((0, 2, 4, 5, 7, 9, 11), (3, 1, 2, 1, 2, 1, 1), strict=True):
            weights[(tonic + degree) % 12] = weight
        fifths, mode = find_key(weights)
        assert mode == "major"
        assert (fifths * 7) % 12 == tonic
