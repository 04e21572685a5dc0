"""Fingers in the notation: where they are written, and that nothing else changes."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from passagework.hands.editorial import editorial
from passagework.hands.fingering import finger_piece
from passagework.hands.write import write_fingering
from passagework.score import Reading, read_score
from tests.spots.build import musicxml


def read(text: str) -> Reading:
    return read_score(musicxml(text, "4/4", 0, 100).encode())


def test_every_note_gets_its_number_grace_notes_too() -> None:
    reading = read("R: g:B3 C4/1 D4/1 E4/2")
    found = finger_piece(reading.piece)
    again = read_score(write_fingering(reading.notation, found).to_bytes()).piece
    assert [n.fingers for n in again.notes] == [found.fingers[n.id] for n in reading.piece.notes]
    assert all(n.fingers for n in again.notes)


def test_the_continuation_of_a_tie_gets_none() -> None:
    reading = read("R: C4/4~ | C4/2 D4/2")
    written = write_fingering(reading.notation, finger_piece(reading.piece))
    counts = [len(n.findall("notations/technical/fingering")) for n in written.notes()
              if n.find("pitch") is not None]  # fmt: skip
    assert counts == [1, 0, 1]


def test_the_notation_itself_is_left_alone() -> None:
    reading = read("R: C4/4")
    before = reading.notation.to_bytes()
    write_fingering(reading.notation, finger_piece(reading.piece))
    assert reading.notation.to_bytes() == before


def test_a_substitution_is_written_as_one() -> None:
    reading = read("R: C4/4")
    note = reading.piece.notes[0]
    found = finger_piece(reading.piece, fixed={note.id: (1, 3)})
    written = write_fingering(reading.notation, found)
    heads = [f for n in written.notes() for f in n.findall("notations/technical/fingering")]
    assert [(f.text, f.get("substitution")) for f in heads] == [("1", None), ("3", "yes")]


def test_printed_fingers_stay_unless_replaced_or_overruled() -> None:
    reading = read("R: C4/1 D4/1 E4/2")
    first = reading.piece.notes[0].id
    printed = write_fingering(reading.notation, finger_piece(reading.piece, fixed={first: 2}))
    reading = read_score(printed.to_bytes())
    assert reading.piece.notes[0].fingers == (2,)
    found = finger_piece(reading.piece, respect_printed=False)
    kept = read_score(write_fingering(reading.notation, found).to_bytes()).piece
    assert kept.notes[0].fingers == (2,)
    replaced = write_fingering(reading.notation, found, replace=True)
    assert read_score(replaced.to_bytes()).piece.notes[0].fingers == (1,)
    overruled = finger_piece(reading.piece, fixed={first: 3})
    changed = write_fingering(reading.notation, overruled)
    assert read_score(changed.to_bytes()).piece.notes[0].fingers == (3,)


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_what_is_written_is_what_is_read(demo: Callable[[str], Reading], name: str) -> None:
    reading = demo(name)
    found = finger_piece(reading.piece, respect_printed=False)
    written = write_fingering(reading.notation, found, replace=True)
    again = read_score(written.to_bytes()).piece
    for note in again.notes:
        if note.printed:
            assert note.fingers == found.fingers[note.id]


@pytest.mark.parametrize("name", ["paper-boat", "evening-ferry"])
def test_an_editor_prints_fewer(demo: Callable[[str], Reading], name: str) -> None:
    piece = demo(name).piece
    found = finger_piece(piece)
    chosen = editorial(found, piece)
    assert 0 < len(chosen) <= 0.4 * len(piece.notes)
    # A passing goes without a number only where its bar has been numbered before.
    numbered = {(piece.by_id[i].midi, found.fingers[i]) for i in chosen}
    for passing in found.passings:
        note = piece.by_id[passing.note_id]
        assert passing.note_id in chosen or (note.midi, found.fingers[note.id]) in numbered


def test_a_bar_that_returns_is_numbered_once() -> None:
    bar = "C4/1/2 D4/1/2 E4/1/2 F4/1/2 G4/1/2 A4/1/2 B4/1/2 C5/1/2"
    piece = read(f"R: {bar} | {bar}").piece
    found = finger_piece(piece, respect_printed=False)
    chosen = editorial(found, piece)
    first, again = ([n.id for n in row] for row in piece.notes_of_bar)
    assert set(first) & chosen
    if [found.fingers[i] for i in first] == [found.fingers[i] for i in again]:
        assert not set(again) & chosen


def test_sparse_writes_only_those() -> None:
    reading = read("R: C4/1 D4/1 E4/1 F4/1 | G4/1 F4/1 E4/1 D4/1 | C4/4")
    found = finger_piece(reading.piece)
    written = write_fingering(reading.notation, found, sparse=True)
    with_number = {
        n.get("id") for n in written.notes() if n.find("notations/technical") is not None
    }
    assert with_number == set(editorial(found, reading.piece))
    assert reading.piece.notes[0].id in with_number
    assert len(with_number) < len(reading.piece.notes) / 2
