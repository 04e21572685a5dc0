"""Hands crossing."""

from __future__ import annotations

import pytest

from passagework.spots.crossing import KIND
from tests.spots.build import context


def test_the_left_hand_passes_over() -> None:
    # The right hand repeats E4 to G4 while the left leaps from C3 to C6: 60 bpm, so the bar lasts 4 s.
    text = "R: E4/1 G4/1 E4/1 G4/1; L: C3/2 C6/2"
    (found,) = KIND.find(context(text, tempo=60))
    assert found.hand == "both"
    assert found.facts["left"] == "C6"
    assert found.facts["right"] == "E4"
    # From beat 3 on: the attack of both hands (2) and one of the right hand.
    assert found.numbers["attacks"] == 3
    assert found.numbers["rate"] == pytest.approx(0.75)
    # E4 to C6 is 12 white keys of 23.5 mm.
    assert found.numbers["depth"] == pytest.approx(12 * 23.5)
    assert found.numbers["apart"] == 2
    assert found.facts["mover"] == "left"


def test_hands_that_interlock() -> None:
    text = "R: C4+G4/4; L: E4/4"
    ctx = context(text)
    (found,) = KIND.find(ctx)
    assert found.numbers["apart"] == 0
    assert KIND.describe([found], ctx).title == "Hands inside each other"


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: E4/1 G4/1 E4/1 G4/1; L: C3/2 C4/2", id="the left below the right"),
        pytest.param("R: C4/4; L: C4/4", id="the same key"),
        pytest.param("R: E4/2 r/2; L: C3/2 C5/2", id="the right hand is off the keys"),
    ],
)
def test_not_found(text: str) -> None:
    assert list(KIND.find(context(text))) == []


def test_a_note_left_to_the_pedal_is_not_crossed() -> None:
    # The right hand strikes C2 and goes up at once: only the pedal can hold C2 under the left hand.
    text = "R: C2/4; R2: r/1 C6/3; L: r/2 E4/2"
    assert list(KIND.find(context(text))) == []


def test_the_left_hand_passes_over_a_hand_that_waits() -> None:
    text = "R: C4/1/2 E4/1/2 r/2 C4/1; L: C3/2 C5/2"
    (found,) = KIND.find(context(text, tempo=60))
    assert found.facts["left"] == "C5"
    assert found.facts["mover"] == "left"
    gone = "R: C4/1/2 E4/1/2 r/2 C6/1; L: C3/2 C5/2"
    assert list(KIND.find(context(gone, tempo=60))) == []
    silent = "R: C4/1 r/3 | r/4 | C4/4; L: C3/4 | C5/4 | C3/4"
    assert list(KIND.find(context(silent, tempo=60))) == []


def test_faster_and_further_is_harder() -> None:
    near = "R: E4/1 G4/1 E4/1 G4/1; L: C3/2 A4/2"
    far = "R: E4/1 G4/1 E4/1 G4/1; L: C3/2 C6/2"
    (one,) = KIND.find(context(near, tempo=60))
    (two,) = KIND.find(context(far, tempo=60))
    (three,) = KIND.find(context(near, tempo=120))
    assert one.severity < two.severity
    assert one.numbers["rate"] < three.numbers["rate"]
