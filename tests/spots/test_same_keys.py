"""Hands on the same keys."""

from __future__ import annotations

import pytest

from passagework.spots.same_keys import CLOSE, KIND
from tests.spots.build import context


def test_a_held_note_is_taken_by_the_other_hand() -> None:
    # At 60 the right hand's F4 lasts 4 s; the left hand strikes it after 1 s: 3 s are lost.
    (found,) = KIND.find(context("R: F4/4; L: D3/1 F4/1 D3/2", tempo=60))
    assert found.family == "taken"
    assert found.numbers["gap"] == pytest.approx(1.0)
    assert found.numbers["lost"] == pytest.approx(3.0)
    assert (found.facts["first"], found.facts["second"]) == ("right", "left")
    assert found.severity > 0.5


def test_a_key_only_just_left() -> None:
    (found,) = KIND.find(context("R: C4/0.5 r/3.5; L: r/0.5 C4/0.5 r/3", tempo=120))
    assert found.family == "quick"
    assert found.numbers["gap"] == pytest.approx(0.25)


def test_unison_of_both_hands() -> None:
    (found,) = KIND.find(context("R: C4/2 E4/2; L: C4/4", tempo=120))
    assert found.family == "unison"
    assert found.numbers["count"] == 1
    assert found.numbers["rate"] == pytest.approx(0.5)
    assert found.facts["first"] == "left"


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: C5/1 D5/1 E5/2; L: C3/1 D3/1 E3/2", id="an octave apart"),
        pytest.param("R: C4/1 D4/1 E4/2; R2: C4/2 C4/2; L: C3/4", id="two voices of one hand"),
        pytest.param("R: C4/1 r/3 | r/4 | D4/4; L: r/4 | r/4 | C4/4", id="long after"),
        pytest.param("R: C4/1 C4/1 r/2; L: r/4", id="one hand repeats"),
    ],
)
def test_not_found(text: str) -> None:
    assert [c for c in KIND.find(context(text)) if c.family != "unison"] == []


def test_the_window_is_in_seconds() -> None:
    text = "R: C4/1 r/3; L: r/2 C4/2"
    assert list(KIND.find(context(text, tempo=60 * 2 / CLOSE - 1))) == []
    assert len(list(KIND.find(context(text, tempo=60 * 2 / CLOSE + 1)))) == 1


def test_sooner_is_harder() -> None:
    text = "R: C4/0.5 r/3.5; L: r/0.5 C4/0.5 r/3"
    slow, fast = (next(iter(KIND.find(context(text, tempo=t)))) for t in (60, 160))
    assert slow.severity < fast.severity
