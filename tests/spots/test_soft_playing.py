"""Playing softly for long."""

from __future__ import annotations

import pytest

from passagework.spots.soft_playing import KIND, LONG, SHORTEST, STALE
from tests.spots.build import context

BAR = "C5/1 D5/1 E5/1 F5/1"


def score(right: str, bars: int) -> str:
    return f"R: {right}; L: " + " | ".join(["C3/4"] * bars)


def test_every_bar_of_a_pp_stretch() -> None:
    # 120: four bars of 2 s each; five notes in each bar, 2.5 a second.
    text = score(f"@pp {BAR} | {BAR} | {BAR} | {BAR}", 4)
    found = list(KIND.find(context(text, tempo=120)))
    assert [c.first_bar for c in found] == [0, 1, 2, 3]
    assert {c.family for c in found} == {"pp"}
    assert found[0].numbers["rate"] == pytest.approx(2.5)
    assert found[0].numbers["seconds"] == pytest.approx(8.0)


def test_it_ends_at_a_louder_sign() -> None:
    text = score(f"@pp {BAR} | {BAR} | @mf {BAR} | {BAR}", 4)
    assert [c.first_bar for c in KIND.find(context(text, tempo=120))] == [0, 1]


def test_it_ends_where_a_crescendo_starts_that_nothing_takes_back() -> None:
    text = score(f"@pp {BAR} | {BAR} | @< {BAR} | {BAR} @. | {BAR} | {BAR} | {BAR}", 7)
    # In bar 3 the crescendo has not yet risen by half a level; from bar 4 on the page does not say.
    assert [c.first_bar for c in KIND.find(context(text, tempo=120))] == [0, 1, 2]


def test_a_diminuendo_below_the_last_sign_is_not_called_softer() -> None:
    text = score(f"@p {BAR} | @> {BAR} @. | {BAR} | {BAR}", 4)
    assert {c.family for c in KIND.find(context(text, tempo=120))} == {"p"}


def test_a_small_swell_does_not_end_it() -> None:
    swell = "@< C5/1 D5/1 @. @> E5/1 F5/1 @."
    text = score(f"@pp {BAR} | {swell} | {BAR} | {BAR}", 4)
    assert len(list(KIND.find(context(text, tempo=120)))) == 4


def test_a_sign_goes_stale() -> None:
    text = score(f"@pp {BAR}" + f" | {BAR}" * (STALE + 3), STALE + 4)
    assert len(list(KIND.find(context(text, tempo=120)))) == STALE


def test_not_found() -> None:
    assert list(KIND.find(context(score(f"@mf {BAR} | {BAR}", 2)))) == []
    assert list(KIND.find(context(score(f"{BAR} | {BAR}", 2)))) == []
    short = score(f"@pp {BAR} | @f {BAR}", 2)
    assert list(KIND.find(context(short, tempo=60 * 4 / SHORTEST + 10))) == []


def test_softer_longer_and_fuller_are_harder() -> None:
    def worst(text: str) -> float:
        return max(c.severity for c in KIND.find(context(text, tempo=120)))

    short = score(f"@pp {BAR} | {BAR}", 2)
    pp = score(f"@pp {BAR}" + f" | {BAR}" * 5, 6)
    p = score(f"@p {BAR}" + f" | {BAR}" * 5, 6)
    full = score(f"@pp {BAR}" + f" | {BAR}" * 5, 6).replace("C3/4", "C3/1 E3/1 G3/1 E3/1")
    assert worst(p) < worst(pp)
    assert worst(short) < worst(pp)
    assert worst(pp) < worst(full)
    assert 2 * 2.0 < LONG < 6 * 2.0


def test_the_ends_of_the_keyboard_are_named() -> None:
    text = score("@pp C7/1 D7/1 E7/1 F7/1 | C7/1 D7/1 E7/1 F7/1", 2)
    ctx = context(text, tempo=100)
    found = list(KIND.find(ctx))
    assert found[0].numbers["extreme"] == 4
    words = KIND.describe(found, ctx)
    assert words.title == "Staying pp"
    assert "F7" in words.reason
