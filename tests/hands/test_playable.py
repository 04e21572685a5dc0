"""Every fingering can be played, over real scores and composed ones, by three sizes of hand."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.hands.fingering import finger_piece
from passagework.hands.hand import PRESETS, Hands
from passagework.score import Piece, Reading
from tests.conftest import real_scores
from tests.hands.make import Event, mirrored, piece_of
from tests.hands.playable import problems

SIZES = ("child", "medium", "large")
SAMPLE_BARS = 12


def excerpt(piece: Piece, first: int, count: int = SAMPLE_BARS) -> Piece:
    notes = tuple(n for n in piece.notes if first <= n.bar < first + count)
    return replace(piece, notes=notes)


@pytest.mark.parametrize("path", real_scores() or [None], ids=lambda p: p.stem if p else "none")
def test_real_scores_are_playable(real: Callable[[str], Piece], path: Path) -> None:
    piece = real(path.stem)
    for number, size in enumerate(SIZES):
        part = excerpt(piece, (len(piece.bars) * number) // 3)
        hands = Hands.alike(PRESETS[size])
        found = finger_piece(part, hands, respect_printed=False)
        assert set(found.fingers) == {n.id for n in part.notes}
        assert problems(part, found, hands) == []


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
@pytest.mark.parametrize("size", SIZES)
def test_demo_pieces_are_playable(demo: Callable[[str], Reading], name: str, size: str) -> None:
    piece = demo(name).piece
    hands = Hands.alike(PRESETS[size])
    found = finger_piece(piece, hands)
    assert set(found.fingers) == {n.id for n in piece.notes}
    assert problems(piece, found, hands) == []


VALUES = st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(2)])
CHORDS = st.lists(st.integers(40, 84), min_size=1, max_size=7, unique=True)


@st.composite
def parts(draw: st.DrawFn) -> list[Event]:
    """Anything at all: leaps, clusters of seven keys, notes that overlap the next ones."""
    onset = Fraction(0)
    events = []
    for _ in range(draw(st.integers(1, 10))):
        step, value = draw(VALUES), draw(VALUES)
        events.append((onset, value, draw(CHORDS)))
        onset += step
    return events


@settings(max_examples=40, deadline=None)
@given(parts(), parts(), st.sampled_from(SIZES))
def test_anything_gets_a_playable_fingering(
    left: list[Event], right: list[Event], size: str
) -> None:
    piece = piece_of({"left": left, "right": right})
    hands = Hands.alike(PRESETS[size])
    found = finger_piece(piece, hands)
    assert set(found.fingers) == {n.id for n in piece.notes}
    assert all(1 <= f <= 5 for fingers in found.fingers.values() for f in fingers)
    assert problems(piece, found, hands) == []


@settings(max_examples=30, deadline=None)
@given(parts(), parts())
def test_mirrored_music_gets_mirrored_fingers(left: list[Event], right: list[Event]) -> None:
    piece = piece_of({"left": left, "right": right})
    assert finger_piece(mirrored(piece)).fingers == finger_piece(piece).fingers


def test_mirrored_scores_get_mirrored_fingers(real: Callable[[str], Piece]) -> None:
    piece = excerpt(real("beethoven-sonata-8-2"), 0, 24)
    plain = replace(piece, notes=tuple(replace(n, ornaments=()) for n in piece.notes))
    assert finger_piece(mirrored(plain)).fingers == finger_piece(plain).fingers


@settings(max_examples=30, deadline=None)
@given(parts(), st.data())
def test_the_teachers_finger_is_kept(part: list[Event], data: st.DataObject) -> None:
    piece = piece_of({"right": part})
    note = data.draw(st.sampled_from(piece.notes))
    finger = data.draw(st.integers(1, 5))
    found = finger_piece(piece, fixed={note.id: finger}, sides=("right",))
    assert found.fingers[note.id][0] == finger
