"""Tremolos by sign and written out."""

import pytest

from passagework.spots import tremolo
from tests.spots.build import context


def found(text: str, **options: object) -> list[tremolo.Candidate]:
    return list(tremolo.find(context(text, **options)))


def test_two_strokes_are_semiquavers() -> None:
    (one,) = found("R: C5/4!trem2; L: C3/4", tempo=60)
    assert one.family == "one"
    assert one.numbers["rate"] == pytest.approx(4.0)
    assert one.numbers["seconds"] == pytest.approx(4.0)
    assert one.facts["measured"]


def test_three_strokes_are_not_counted() -> None:
    (one,) = found("R: C5/4!trem3; L: C3/4", tempo=160)
    assert one.numbers["rate"] == tremolo.UNMEASURED_RATE
    assert one.facts["measured"] == ""


def test_between_two_notes() -> None:
    (one,) = found("R: C5/4; L: C3/2!trem3a C4/2!trem3b", tempo=60)
    assert (one.family, one.hand, one.facts["one"], one.facts["other"]) == (
        "two",
        "left",
        "C3",
        "C4",
    )
    assert one.numbers["seconds"] == pytest.approx(4.0)
    assert one.numbers["mm"] == pytest.approx(164.5)


def test_written_out() -> None:
    (one,) = found(f"R: {'C5/1/4 E5/1/4 ' * 8}; L: C3/4", tempo=120)
    assert one.numbers["rate"] == pytest.approx(8.0)
    assert (one.facts["one"], one.facts["other"]) == ("C5", "E5")


@pytest.mark.parametrize(
    ("text", "tempo"),
    [
        (f"R: {'C5/1/4 E5/1/4 ' * 8}; L: C3/4", 60),  # slow enough to be a figure
        (f"R: {'C5/1/4 D5/1/4 ' * 8}; L: C3/4", 120),  # a trill
        (f"R: {'C5/1/4 E5/1/4 G5/1/4 E5/1/4 ' * 4}; L: C3/4", 120),  # a broken chord
        ("R: C5/4!trill-mark; L: C3/4", 120),
    ],
)
def test_no_tremolo(text: str, tempo: int) -> None:
    assert found(text, tempo=tempo) == []
