from __future__ import annotations

import pytest

from passagework.hands.beyond import beyond_reach
from passagework.hands.fingering import finger_piece
from passagework.hands.hand import LARGE, SMALL, Hands
from tests.spots.build import piece as written


def test_nothing_is_beyond_a_hand_that_reaches() -> None:
    piece = written("R: C4+C5/4; L: C3+G3/4")
    assert beyond_reach(piece, Hands.alike(SMALL)) == ()


def test_a_tenth_for_a_small_hand_and_its_ways_out() -> None:
    piece = written("R: C4+G4+E5/4; L: C2/1 r/1 r/2", tempo=60)
    [found] = beyond_reach(piece, Hands.alike(SMALL))
    # a tenth of white keys is nine whites, 211.5 mm; the small hand's 185 mm less a fingertip
    assert found.span_mm == pytest.approx(211.5)
    assert found.largest_mm == pytest.approx(173.0)
    kinds = [w.kind for w in found.ways]
    assert kinds[0] == "roll"
    assert {"roll", "leave out"} <= set(kinds)
    assert [w.cost for w in found.ways] == sorted(w.cost for w in found.ways)
    assert beyond_reach(piece, Hands.alike(LARGE)) == () or LARGE.largest_mm < 211.5


def test_the_other_hand_takes_a_note_if_it_is_near() -> None:
    piece = written("R: C4+G4+E5/1/4 r/1/4 r/1/2 r/1 r/2; L: A3/1/4 r/1/4 r/1/2 r/1 r/2", tempo=120)
    [found] = beyond_reach(piece, Hands.alike(SMALL))
    share = next(w for w in found.ways if w.kind == "share")
    [given] = share.note_ids
    assert piece.by_id[given].midi == 60


def test_the_doubled_inner_note_is_the_one_to_leave_out() -> None:
    piece = written("R: E4+G4+E5+G5/4; L: C2+C3/4")
    [found] = beyond_reach(piece, Hands.alike(SMALL))
    out = [w for w in found.ways if w.kind == "leave out"]
    cheapest = piece.by_id[out[0].note_ids[0]]
    assert cheapest.midi == 64
    assert "doubled" in out[0].words
    top = next(w for w in out if piece.by_id[w.note_ids[0]].midi == 79)
    assert top.cost > out[0].cost


def test_a_held_note_that_cannot_stay_is_left_to_the_pedal() -> None:
    piece = written("L: C2/4; L2: r/1 E3/1 G3/2")
    found = beyond_reach(piece, Hands.alike(SMALL))
    assert found
    assert found[0].held_ids == (next(n.id for n in piece.notes if n.midi == 36),)
    assert any(w.kind == "pedal" for w in found[0].ways)
    warnings = finger_piece(piece, Hands.alike(SMALL)).warnings
    assert any("C2 cannot be held" in w for w in warnings)


def test_six_keys_at_once_are_more_than_five_fingers() -> None:
    piece = written("R: C4+D4+E4+F4+G4+A4/4")
    [found] = beyond_reach(piece, Hands.alike(LARGE))
    assert len(found.note_ids) == 6
    fingering = finger_piece(piece, Hands.alike(LARGE))
    assert {f for (f,) in fingering.fingers.values()} == {1, 2, 3, 4, 5}
    assert "6 keys at once" in fingering.warnings[0]


def test_a_chord_printed_rolled_is_not_beyond() -> None:
    piece = written("R: C4+G4+E5/4!arp")
    assert any(n.arpeggio for n in piece.notes)
    assert beyond_reach(piece, Hands.alike(SMALL)) == ()
