"""Hands that do different things: touch, rhythm, and their first meeting."""

from __future__ import annotations

from collections import Counter

import pytest

from passagework.spots.hands_together import KIND
from passagework.spots.spot import Candidate
from tests.spots.build import context

DOTS = "L: C3/1!staccato G3/1!staccato C3/1!staccato G3/1!staccato"


def families(text: str, tempo: float = 60) -> Counter[str]:
    return Counter(c.family for c in KIND.find(context(text, tempo=tempo)))


def only(text: str, family: str, tempo: float = 60) -> Candidate:
    (found,) = (c for c in KIND.find(context(text, tempo=tempo)) if c.family == family)
    return found


def test_slurs_over_dots() -> None:
    # Eight attacks in four seconds.
    found = only(f"R: C5/1!( D5/1 E5/1 F5/1!); {DOTS}", "touch")
    assert found.facts["joined"] == "right"
    assert found.numbers["rate"] == pytest.approx(2.0)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(f"R: C5/1 D5/1 E5/1 F5/1; {DOTS}", id="nothing printed in one hand"),
        pytest.param("R: C5/1!( D5/1 E5/1 F5/1!); L: C3/1!( G3/1 C3/1 G3/1!)", id="both slurred"),
        pytest.param("R: C5/1!( D5/1 E5/1 F5/1!); L: C3/1!staccato G3/1 C3/1 G3/1", id="one dot"),
    ],
)
def test_the_same_touch(text: str) -> None:
    assert families(text)["touch"] == 0


def test_two_rhythms_of_which_neither_holds_the_other() -> None:
    # Right on 0, 3/2, 2, 7/2; left on 0, 1, 2, 3: two strokes of each alone, two together, four seconds.
    found = only("R: C5/3/2 D5/1/2 E5/3/2 F5/1/2; L: C3/1 G3/1 C3/1 G3/1", "rhythm")
    assert (found.numbers["left"], found.numbers["right"], found.numbers["together"]) == (2, 2, 2)
    assert found.numbers["rate"] == pytest.approx(0.5)


def test_an_accompaniment_that_holds_the_tune_is_none() -> None:
    alberti = "C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2"
    assert families(f"R: C5/2 E5/1 G5/1; L: {alberti}")["rhythm"] == 0


def test_the_first_meeting() -> None:
    text = "R: C4/2 D4/2 | r/4 | C4/2 E4/2 | C4/4; L: r/4 | C3/2 G3/2 | C3/4 | C3/4"
    found = only(text, "entry")
    assert found.first_bar == 2
    assert (found.facts["right"], found.facts["left"]) == ("C4", "C3")
    assert "first on C4 over C3" in KIND.describe([found], context(text)).reason


def test_no_meeting_where_they_never_were_apart() -> None:
    assert families("R: C4/2 D4/2 | C4/4; L: C3/4 | C3/4")["entry"] == 0
    assert families("R: C4/2 D4/2 | E4/4 | C4/4; L: r/4 | r/4 | r/4")["entry"] == 0


@pytest.mark.parametrize("family", ["touch", "rhythm"])
def test_quicker_is_harder(family: str) -> None:
    text = {
        "touch": f"R: C5/1!( D5/1 E5/1 F5/1!); {DOTS}",
        "rhythm": "R: C5/3/2 D5/1/2 E5/3/2 F5/1/2; L: C3/1 G3/1 C3/1 G3/1",
    }[family]
    assert only(text, family, 60).severity < only(text, family, 80).severity
