"""Notes altered against the signature."""

from __future__ import annotations

import pytest

from passagework.spots.accidentals import CARRIED, DOUBLE, KIND, TRAP
from tests.spots.build import context

REST = " | C5/4 | C5/4 | C5/4; L: r/4 | r/4 | r/4 | r/4"
"""Three more bars: an alteration that stands in one bar of four weighs 3/4."""


def test_two_signs() -> None:
    (found,) = KIND.find(context("R: F#4/1 G4/1 Bb4/1 C5/1" + REST))
    assert found.numbers["signs"] == 2
    assert found.numbers["load"] == pytest.approx(2 * 0.75)
    assert found.facts["names"] == "F sharp, B flat"
    assert found.hand == "right"


def test_a_sign_holds_to_the_bar_line() -> None:
    (found,) = KIND.find(context("R: F#4/1 G4/1 F#4/1 F#4/1" + REST))
    assert found.numbers["signs"] == 1
    assert found.numbers["carried"] == 2
    # The carried key is remembered once, not once for every stroke.
    assert found.numbers["load"] == pytest.approx((1 + CARRIED) * 0.75)


def test_cancelled_within_the_bar() -> None:
    (found,) = KIND.find(context("R: F#4/1 G4/1 F4/1 E4/1" + REST))
    assert found.numbers["signs"] == 2
    assert found.facts["cancelled"] == "F"
    assert found.numbers["load"] == pytest.approx(0.75 + 1)


def test_a_double_sharp_counts_twice() -> None:
    (found,) = KIND.find(context("R: F##5/1 G#5/3" + REST.replace("C5", "C#5"), fifths=4))
    # F sharp belongs to the signature of four sharps, F double sharp does not.
    assert found.numbers["doubles"] == 1
    assert found.numbers["load"] == pytest.approx(DOUBLE * 0.75)


def test_a_sign_holds_for_its_own_octave_only() -> None:
    (found,) = KIND.find(context("R: F#4/1 F5/1 G5/2" + REST))
    assert found.facts["traps"] == "F"
    assert found.numbers["load"] == pytest.approx(0.75 + TRAP)


def test_an_alteration_in_every_bar_is_a_habit() -> None:
    text = "R: G#4/1 A4/3 | G#4/1 A4/3 | G#4/1 A4/3 | G#4/1 A4/3; L: r/4"
    assert all(c.numbers["load"] == pytest.approx(0.0) for c in KIND.find(context(text)))


def test_not_found_in_the_signature() -> None:
    assert list(KIND.find(context("R: F#4/1 C#5/1 D5/2; L: D3/4", fifths=2))) == []


def test_a_tie_over_the_bar_needs_no_second_sign() -> None:
    found = list(KIND.find(context("R: r/2 F#4/2~ | F#4/2 r/2 | C5/4 | C5/4; L: r/4")))
    assert [c.first_bar for c in found] == [0]


def test_words_are_particular() -> None:
    ctx = context("R: F#4/1 G4/1 F4/1 Bb4/1" + REST, tempo=100)
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert words.title == "Three accidentals in bar 1"
    assert "F sharp" in words.reason
    assert "F changed back within the bar" in words.reason
    assert "The second F of bar 1" in words.goes_wrong
