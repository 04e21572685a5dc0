"""What holds for the keys and chords of every score."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from passagework.analysis.harmony import Harmony, analyse_harmony
from passagework.analysis.harmony.qualities import fifths_of, spelled
from passagework.score import Piece
from passagework.score.piece import Bar, Note, Pitch, TimeSignature

LETTERS = "CDEFGAB"
PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
"""No shrinking: whole pieces shrink for minutes."""


def _pitch(place: int, diatonic: int) -> Pitch:
    """The pitch of that place on the line of fifths and that staff step."""
    name = spelled(place)
    return Pitch(
        name[0], name.count("#") - name.count("b"), (diatonic - LETTERS.index(name[0])) // 7
    )


def transposed(piece: Piece, fifths: int) -> Piece:
    octaves = round(7 * fifths / 12)
    return replace(
        piece,
        bars=tuple(replace(b, fifths=b.fifths + fifths) for b in piece.bars),
        notes=tuple(
            replace(
                n,
                pitch=_pitch(n.pitch.fifths + fifths, n.pitch.diatonic + 4 * fifths - 7 * octaves),
            )
            for n in piece.notes
        ),
    )


def augmented(piece: Piece) -> Piece:
    def doubled(time: TimeSignature) -> TimeSignature:
        return replace(time, beat_type=time.beat_type // 2)

    return replace(
        piece,
        bars=tuple(
            replace(b, onset=b.onset * 2, length=b.length * 2, time=doubled(b.time))
            for b in piece.bars
        ),
        notes=tuple(replace(n, onset=n.onset * 2, duration=n.duration * 2) for n in piece.notes),
    )


@st.composite
def pieces(draw: st.DrawFn) -> Piece:
    """Two hands of chords and lines, mostly in a key, now and then not."""
    beats, beat_type = draw(st.sampled_from([(4, 4), (3, 4), (2, 4), (6, 8), (3, 8)]))
    time = TimeSignature((beats,), beat_type)
    key = draw(st.integers(-4, 4))
    bars, notes, onset = [], [], Fraction(0)
    step = Fraction(2, beat_type)
    for index in range(draw(st.integers(1, 6))):
        bars.append(Bar(index, str(index + 1), onset, time.length, time, key))
        for staff, low in ((1, 36), (2, 22)):
            at = onset
            while at < onset + time.length:
                left = onset + time.length - at
                length = min(draw(st.sampled_from([step, 2 * step, 4 * step])), left)
                for diatonic in draw(st.lists(st.integers(low, low + 9), max_size=3, unique=True)):
                    letter = LETTERS[diatonic % 7]
                    base = "FCGDAEB".index(letter) - 1
                    # The place of this letter in the signature's scale, altered now and then.
                    place = next(p for p in range(key - 1, key + 6) if (p - base) % 7 == 0)
                    place += 7 * draw(st.sampled_from([0, 0, 0, 0, 0, 1, -1]))
                    notes.append(
                        Note(
                            f"n{len(notes)}",
                            index,
                            at,
                            length,
                            _pitch(place, diatonic),
                            staff,
                            str(staff),
                            "right" if staff == 1 else "left",
                        )
                    )
                at += length
        onset += time.length
    notes.sort(key=lambda n: (n.onset, n.midi))
    return Piece("", "", tuple(bars), tuple(notes))


def shifted(harmony: Harmony, fifths: int) -> Harmony:
    """The analysis as it must be for the transposed piece, symbols apart."""

    def name(text: str) -> str:
        return spelled(fifths_of(text) + fifths)

    return Harmony(
        tuple(
            replace(k, tonic=name(k.tonic), signature=k.signature + fifths) for k in harmony.keys
        ),
        tuple(replace(c, root=name(c.root), bass=name(c.bass), symbol="") for c in harmony.chords),
    )


def without_symbols(harmony: Harmony) -> Harmony:
    return replace(harmony, chords=tuple(replace(c, symbol="") for c in harmony.chords))


@settings(max_examples=40, deadline=None, phases=PHASES)
@given(pieces(), st.integers(-6, 6))
def test_transposing_the_piece_transposes_the_analysis(piece: Piece, fifths: int) -> None:
    before, after = analyse_harmony(piece), analyse_harmony(transposed(piece, fifths))
    assert without_symbols(after) == shifted(before, fifths)


@settings(max_examples=30, deadline=None, phases=PHASES)
@given(pieces())
def test_longer_note_values_change_no_label(piece: Piece) -> None:
    before, after = analyse_harmony(piece), analyse_harmony(augmented(piece))
    assert [replace(c, onset=c.onset * 2, duration=c.duration * 2) for c in before.chords] == list(
        after.chords
    )
    assert [replace(k, onset=k.onset * 2, end=k.end * 2) for k in before.keys] == list(after.keys)


@settings(max_examples=20, deadline=None, phases=PHASES)
@given(pieces())
def test_numbers_of_voices_do_not_matter(piece: Piece) -> None:
    renamed = replace(
        piece, notes=tuple(replace(n, voice=f"{9 - int(n.voice)}x") for n in piece.notes)
    )
    assert analyse_harmony(renamed) == analyse_harmony(piece)


@settings(max_examples=40, deadline=None, phases=PHASES)
@given(pieces())
def test_chords_cover_the_piece_and_every_note(piece: Piece) -> None:
    found = analyse_harmony(piece)
    if not piece.notes:
        assert not found.chords
        return
    assert found.chords[0].onset <= piece.notes[0].onset
    assert found.chords[-1].end == piece.end
    for one, two in zip(found.chords, found.chords[1:], strict=False):
        assert one.end == two.onset
        assert one.duration > 0
    for one, two in zip(found.keys, found.keys[1:], strict=False):
        assert one.end == two.onset
    sounding = {i for c in found.chords for i in (*c.note_ids, *(n.note_id for n in c.non_chord))}
    assert sounding == {n.id for n in piece.notes}
    for chord in found.chords:
        assert not set(chord.note_ids) & {n.note_id for n in chord.non_chord}
        assert 0 <= chord.confidence <= 1
        assert chord.numeral
    # The key of a span and its tonic's spelling are those of the scale that is written.
    assert all(0 <= k.confidence <= 1 for k in found.keys)
