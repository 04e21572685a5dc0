"""Numbers that clash: the ratio, the composite and the hidden meeting points, worked out by hand."""

from fractions import Fraction

import pytest

from passagework.spots import polyrhythm
from passagework.spots.find import find_spots
from tests.spots.build import context

THREE = "C3/1/3 E3/1/3 G3/1/3"
TWO = "C5/1/2 D5/1/2"


def found(text: str, **options: object) -> list[polyrhythm.Candidate]:
    return list(polyrhythm.find(context(text, **options)))


def test_three_against_two_between_the_hands() -> None:
    one = found(f"R: {TWO} {TWO} G5/2; L: {THREE} {THREE} C3/2", tempo=60)
    assert [(c.family, c.hand, c.first_bar) for c in one] == [("3:2", "both", 0)]
    numbers = one[0].numbers
    # Two beats of one second; attacks at 0, 1/3, 1/2 and 2/3: four a second.
    assert numbers["spans"] == 2
    assert numbers["seconds"] == pytest.approx(1.0)
    assert numbers["rate"] == pytest.approx(4.0)
    assert numbers["hidden"] == 0
    assert one[0].facts["composite"] == "0, 1/3, 1/2 and 2/3"
    assert one[0].facts["more"] == "left"
    assert len(one[0].note_ids) == 10


def test_a_tie_hides_the_meeting_point() -> None:
    one = found(f"R: C5/1/2 D5/1/2~ D5/1/2 E5/1/2 G5/2; L: {THREE} {THREE} C3/2")
    assert one[0].numbers["hidden"] == 1


@pytest.mark.parametrize(
    ("upper", "lower", "ratio"),
    [
        ("C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/3", f"{THREE} C3/3", "4:3"),
        ("C5/1/5 D5/1/5 E5/1/5 F5/1/5 G5/1/5 G5/3", f"{THREE} C3/3", "5:3"),
        # Three minims in the time of two: a span of the whole bar.
        ("C5/4/3 D5/4/3 E5/4/3", "C3/2 G3/2", "3:2"),
        # Sextuplets against four semiquavers are three against two, twice in the beat.
        ("C5/1/6 D5/1/6 E5/1/6 F5/1/6 G5/1/6 A5/1/6 G5/3", "C3/1/4 E3/1/4 G3/1/4 E3/1/4 C3/3", "3:2"),
    ],
)  # fmt: skip
def test_ratio(upper: str, lower: str, ratio: str) -> None:
    assert [c.family for c in found(f"R: {upper}; L: {lower}")] == [ratio]


def test_two_voices_of_one_hand() -> None:
    one = found(f"R: {TWO} C5/3; R2: C4/1/3 E4/1/3 G4/1/3 C4/3; L: C3/4")
    assert [(c.family, c.hand) for c in one] == [("3:2", "right")]


@pytest.mark.parametrize(
    "text",
    [
        f"R: C5/1 D5/1 E5/2; L: {THREE} {THREE} C3/2",  # one against three
        "R: C5/1/6 D5/1/6 E5/1/6 F5/1/6 G5/1/6 A5/1/6 G5/3; L: C3/1/3 E3/1/3 G3/1/3 C3/3",  # 6 : 3
        "R: C5/1/2 D5/1/2 E5/3; L: C3/1/4 E3/1/4 G3/1/4 E3/1/4 C3/3",  # 2 : 4
        f"R: {TWO} C5/1 C5/2; L: C3/1 {THREE} C3/2",  # one after the other
        "R: C5/3/2 D5/1/2 E5/2; L: C3/1 D3/1 E3/2",  # a dotted figure against crotchets
    ],
)
def test_numbers_that_do_not_clash(text: str) -> None:
    assert found(text) == []


def test_dotted_against_triplets_is_told_as_such_and_milder() -> None:
    (dotted,) = found(f"R: C5/3/4 D5/1/4 E5/3; L: {THREE} C3/3", tempo=60)
    (even,) = found(f"R: C5/1/4 D5/1/4 D5/1/4 D5/1/4 E5/3; L: {THREE} C3/3", tempo=60)
    assert dotted.facts["dotted"]
    assert not even.facts["dotted"]
    assert dotted.severity < even.severity


def test_faster_and_longer_is_harder() -> None:
    slow = found(f"R: {TWO} C5/3; L: {THREE} C3/3", tempo=50)[0]
    quick = found(f"R: {TWO} C5/3; L: {THREE} C3/3", tempo=70)[0]
    assert slow.numbers["rate"] < quick.numbers["rate"]
    long = found(f"R: {TWO} {TWO} {TWO} {TWO}; L: {THREE} {THREE} {THREE} {THREE}", tempo=50)[0]
    assert long.numbers["spans"] == 4
    assert long.numbers["rate"] == pytest.approx(4 * 50 / 60)


def test_words_name_the_hands_and_the_rhythm() -> None:
    score = context(f"R: {TWO} {TWO} G5/2; L: {THREE} {THREE} C3/2", tempo=60)
    spot = next(s for s in find_spots(score) if s.kind == "polyrhythm")
    assert spot.wording.title == "Three against two"
    assert "left hand has three while the right has two" in spot.wording.reason
    assert "printed tempo (crotchet = 60)" in spot.wording.reason
    assert any("0, 1/3, 1/2 and 2/3" in step for step in spot.wording.try_)
    assert spot.wording.evidence[0].value == "3:2"


def test_composite_is_exact() -> None:
    division = polyrhythm.Division("left", 3, (0, 1, 2), ())
    other = polyrhythm.Division("right", 2, (0, 1), ())
    clash = polyrhythm.Clash(0, 6, division, other)
    assert clash.composite == [0, Fraction(1, 3), Fraction(1, 2), Fraction(2, 3)]


def test_hemiola_in_six_eight() -> None:
    # Three crotchets against two dotted ones: the span is the whole bar.
    (one,) = found("R: C5/1 D5/1 E5/1; L: C3/3/2 G3/3/2", time="6/8")
    assert (one.family, one.facts["more"]) == ("3:2", "right")
