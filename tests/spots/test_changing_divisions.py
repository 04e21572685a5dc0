"""Changes of division from beat to beat."""

import pytest

from passagework.spots import changing_divisions
from tests.spots.build import context

TRIPLET = "C5/1/3 D5/1/3 E5/1/3"
PAIR = "F5/1/2 G5/1/2"


def found(text: str, **options: object) -> list[changing_divisions.Candidate]:
    return list(changing_divisions.find(context(text, **options)))


def test_triplets_then_quavers() -> None:
    (one,) = found(f"R: {TRIPLET} {PAIR} C5/2; L: C3/4", tempo=60)
    assert (one.hand, one.family, one.numbers["changes"]) == ("right", "3 to 2", 1)
    assert one.numbers["rate"] == pytest.approx(3.0)
    assert len(one.note_ids) == 5


def test_over_the_bar_line_and_back() -> None:
    rows = found(f"R: C5/3 {TRIPLET} | {PAIR} {TRIPLET} C5/2; L: C3/4 | C3/4", tempo=60)
    assert [(c.family, c.first_bar, c.last_bar) for c in rows] == [
        ("3 to 2", 0, 1),
        ("2 to 3", 1, 1),
    ]


def test_the_other_hand_on_both_beats_makes_it_milder() -> None:
    alone = found(f"R: {TRIPLET} {PAIR} C5/2; L: C3/4", tempo=90)[0]
    heard = found(f"R: {TRIPLET} {PAIR} C5/2; L: C3/1 D3/1 E3/2", tempo=90)[0]
    assert not alone.numbers["heard"]
    assert heard.numbers["heard"]


@pytest.mark.parametrize(
    "text",
    [
        f"R: {PAIR} C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/2; L: C3/4",  # two, then four
        f"R: {TRIPLET} C5/1 {PAIR} C5/1; L: C3/4",  # a beat of rest for the mind between them
        f"R: {TRIPLET} C5/3/4 D5/1/4 C5/2; L: C3/4",  # a dotted figure is no division
        f"R: {TRIPLET} C5/3; L: C3/1 {PAIR} C3/2",  # two lines
    ],
)
def test_no_change(text: str) -> None:
    assert found(text) == []
