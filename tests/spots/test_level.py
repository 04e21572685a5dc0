"""The level of a piece: what raises it, and how little a tempo that is only assumed may do."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.score.piece import Note, Pitch
from passagework.spots.context import Context
from passagework.spots.level import estimate_level
from tests.spots.build import context, piece

FIVE_FINGERS = (
    "R: C4/1 D4/1 E4/1 F4/1 | G4/2 E4/2 | F4/1 E4/1 D4/2 | C4/4; L: r/4 | C3/4 | G3/4 | C3/4"
)
ALBERTI = (
    "R: C5/2 E5/1 G5/1 | B4/3/2 C5/1/4 D5/1/4 C5/2 | A5/2 G5/1 C6/1 | G5/1 F5/1 E5/2; "
    "L: C4/1/2 G4/1/2 E4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2 | D4/1/2 G4/1/2 F4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2 | "
    "C4/1/2 A4/1/2 F4/1/2 A4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2 | B3/1/2 G4/1/2 D4/1/2 G4/1/2 C4/1/2 G4/1/2 E4/1/2 G4/1/2"
)


def level(text: str, tempo: float | None = None) -> float:
    return context(text, tempo=tempo).level.value


def test_five_fingers_are_for_a_beginner_and_arpeggios_are_not() -> None:
    arpeggio = "C3/1/4 G3/1/4 E4/1/4 G4/1/4 C5/1/4 G4/1/4 E4/1/4 G3/1/4"
    study = f"R: {arpeggio.replace('3', '5').replace('4/', '6/')} C7/2; L: {arpeggio} C1/2"
    assert level(FIVE_FINGERS) < 0.15
    assert level(FIVE_FINGERS) < level(ALBERTI) < level(study)
    assert context(FIVE_FINGERS).level.words == "a beginner"


def test_density_is_counted_in_the_beat_and_read_at_the_assumed_tempo() -> None:
    # In a bar of four beats four moments at which both hands strike: one and a half a beat, at 84.
    plain = context("R: C4/1 D4/1 E4/1 F4/1; L: C3/1 D3/1 E3/1 F3/1", tempo=None)
    assert plain.level.density == pytest.approx(1.5 * 84 / 60)


@pytest.mark.parametrize("text", [FIVE_FINGERS, ALBERTI])
def test_the_tempo_moves_the_level_but_little(text: str) -> None:
    slow, middle, quick = (level(text, tempo) for tempo in (42, 84, 150))
    assert slow <= middle <= quick
    assert quick - slow < 0.2
    assert level(text) == pytest.approx(middle)


NOTES = st.tuples(
    st.integers(0, 3), st.integers(0, 7), st.sampled_from("CDEFGAB"), st.integers(2, 6)
)


@settings(max_examples=60, deadline=None)
@given(st.lists(NOTES, max_size=12), st.sampled_from([None, 50, 120]))
def test_more_notes_are_never_easier(
    rows: list[tuple[int, int, str, int]], tempo: int | None
) -> None:
    before = piece(FIVE_FINGERS, tempo=tempo)
    added = [
        Note(
            id=f"added{i}", bar=bar, onset=Fraction(4 * bar) + Fraction(at, 2), duration=Fraction(1, 2),
            pitch=Pitch(step, 0, octave), staff=1 if octave > 3 else 2, voice="9",
            hand="right" if octave > 3 else "left",
        )
        for i, (bar, at, step, octave) in enumerate(rows)
    ]  # fmt: skip
    notes = tuple(sorted((*before.notes, *added), key=lambda n: (n.onset, n.midi)))
    after = replace(before, notes=notes)
    assert estimate_level(Context(after)).value >= estimate_level(Context(before)).value - 1e-12
