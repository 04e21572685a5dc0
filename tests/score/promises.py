"""What holds for every score that can be read, whatever is in it."""

from __future__ import annotations

from fractions import Fraction

from passagework.score import Piece, Reading, ScoreError, read_score


def check_reading(reading: Reading) -> None:
    """Assert all that a reading promises."""
    check_piece(reading.piece)
    again = read_score(reading.notation.to_bytes(), "again.musicxml").piece
    assert again == reading.piece, "reading what was written gives another piece"


def check_piece(piece: Piece) -> None:
    """Assert all that a piece promises."""
    assert piece.bars
    at = Fraction(0)
    for index, bar in enumerate(piece.bars):
        assert bar.index == index
        assert bar.onset == at, f"bar {index} does not begin where the last one ended"
        assert bar.length > 0
        at = bar.end
    ids = [i for note in piece.notes for i in note.ids] + [rest.id for rest in piece.rests]
    assert len(ids) == len(set(ids)), "an id is used twice"
    assert all(ids)
    for note in piece.notes:
        bar = piece.bars[note.bar]
        assert bar.onset <= note.onset <= bar.end
        assert note.onset < bar.end or note.grace
        assert note.end <= piece.end
        assert note.duration > 0 or note.grace
        assert 0 <= note.midi <= 127
        assert 1 <= note.staff <= piece.staves
        assert note.hand in {"left", "right"}
        assert 0.5 <= note.hand_sure <= 1
        assert set(note.fingers) <= {1, 2, 3, 4, 5}
    order = [(note.onset, not note.grace) for note in piece.notes]
    assert order == sorted(order)
    assert all(0 <= index < len(piece.bars) for index in piece.playing_order)
    assert len(piece.playing_order) > 0
    for mark in (*piece.hairpins, *piece.pedals, *piece.octave_shifts, *piece.slurs):
        assert mark.onset <= mark.end
    assert all("\n" not in warning for warning in piece.warnings)


def read_or_refuse(data: bytes, name: str = "score.musicxml") -> Reading | None:
    """The reading of `data`, checked; None where it was refused in one line."""
    try:
        reading = read_score(data, name)
    except ScoreError as error:
        check_refusal(error)
        return None
    check_reading(reading)
    return reading


def check_refusal(error: ScoreError) -> None:
    """Assert that a refusal is one line that says something."""
    assert str(error)
    assert "\n" not in str(error)
