"""Notes altered against the signature."""

from __future__ import annotations

import pytest

from passagework.spots.accidentals import CARRIED, DOUBLE, KIND, TRAP, rarity
from passagework.spots.context import Context
from tests.spots.build import context

REST = " | C5/4 | C5/4 | C5/4; L: r/4 | r/4 | r/4 | r/4"
"""Three more bars: what is altered stands in one bar of four."""


def load(ctx: Context, rare: float, plain: float = 0.0) -> float:
    """The load of `rare` signs that stand in a quarter of the bars, and of `plain` ones."""
    return rare * rarity(0.25, ctx.level.value) + plain


def test_rarity_by_hand() -> None:
    assert rarity(0.0, 0.5) == 1.0
    assert rarity(1.0, 1.0) == 0.0
    assert rarity(1.0, 0.0) == 0.5
    assert rarity(0.5, 0.5) == pytest.approx(0.625)


def test_two_signs() -> None:
    ctx = context("R: F#4/1 G4/1 Bb4/1 C5/1" + REST)
    (found,) = KIND.find(ctx)
    assert found.numbers["signs"] == 2
    assert found.numbers["load"] == pytest.approx(load(ctx, 2))
    assert found.facts["names"] == "F sharp, B flat"
    assert found.hand == "right"


def test_a_sign_holds_to_the_bar_line() -> None:
    ctx = context("R: F#4/1 G4/1 F#4/1 F#4/1" + REST)
    (found,) = KIND.find(ctx)
    assert found.numbers["signs"] == 1
    assert found.numbers["carried"] == 2
    # The carried key is remembered once, not once for every stroke.
    assert found.numbers["load"] == pytest.approx(load(ctx, 1 + CARRIED))


def test_cancelled_within_the_bar() -> None:
    ctx = context("R: F#4/1 G4/1 F4/1 E4/1" + REST)
    (found,) = KIND.find(ctx)
    assert found.numbers["signs"] == 2
    assert found.facts["cancelled"] == "F"
    assert found.numbers["load"] == pytest.approx(load(ctx, 1, 1))


def test_a_double_sharp_counts_twice() -> None:
    ctx = context("R: F##5/1 G#5/3" + REST.replace("C5", "C#5"), fifths=4)
    (found,) = KIND.find(ctx)
    # F sharp belongs to the signature of four sharps, F double sharp does not.
    assert found.numbers["doubles"] == 1
    assert found.numbers["load"] == pytest.approx(load(ctx, DOUBLE))


def test_a_sign_holds_for_its_own_octave_only() -> None:
    ctx = context("R: F#4/1 F5/1 G5/2" + REST)
    (found,) = KIND.find(ctx)
    assert found.facts["traps"] == "F"
    assert found.numbers["load"] == pytest.approx(load(ctx, 1, TRAP))


def test_an_alteration_in_every_bar_is_a_habit() -> None:
    text = "R: G#4/1 A4/3 | G#4/1 A4/3 | G#4/1 A4/3 | G#4/1 A4/3; L: r/4"
    ctx = context(text)
    expected = (1.0 - ctx.level.value) / 2
    assert {round(c.numbers["load"], 9) for c in KIND.find(ctx)} == {round(expected, 9)}


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
