"""Stretches: widths in millimetres against the hand, and the ways out."""

import pytest

from passagework.spots import stretch
from passagework.spots.find import find_spots
from tests.spots.build import context


def found(text: str, **options: object) -> list[stretch.Candidate]:
    return list(stretch.find(context(text, **options)))


def test_a_ninth_lies_between_the_comfortable_and_the_largest_reach() -> None:
    # Reach 20.1 cm: largest 189 mm, comfortable 170.1 mm; a ninth of white keys is 8 x 23.5 = 188 mm.
    (one,) = found("R: C4+D5/4; L: r/4", reach=20.1)
    assert one.numbers["mm"] == pytest.approx(188.0)
    assert (one.facts["low"], one.facts["high"]) == ("C4", "D5")


@pytest.mark.parametrize(("reach", "names"), [(20.1, []), (15.0, ["C4"]), (22.6, [])])
def test_the_same_octave_for_three_hands(reach: float, names: list[str]) -> None:
    # An octave is 164.5 mm; comfortable are 170.1, 124.2 and 192.6 mm.
    text = "R: C4+C5/1/2 r/7/2; L: C2/4"
    assert [c.facts["low"] for c in found(text, reach=reach)] == names


def test_wider_is_harder_up_to_what_is_divided() -> None:
    ninth = found("R: C4+D5/1/2 r/7/2; L: C2/4")[0].severity
    tenth = found("R: C4+E5/1/2 r/7/2; L: C2/4")[0].severity
    assert 0.45 < ninth < 0.5 < tenth <= stretch.MOST
    two_octaves = found("R: C4+C6/1/2 r/7/2; L: C2/4")[0].severity
    assert 0.5 < two_octaves < stretch.MOST * stretch.DIVIDED_SHARE


def test_a_rolled_chord_is_milder_and_said_so() -> None:
    plain = found("R: C4+E5/1/2 r/7/2; L: C2/4")[0]
    rolled = found("R: C4+E5/1/2!arp r/7/2; L: C2/4")[0]
    assert rolled.severity == pytest.approx(plain.severity * stretch.ROLLED_SHARE)
    score = context("R: C4+E5/1/2!arp r/7/2; L: C2/4")
    assert "marked to be rolled" in find_spots(score)[0].wording.reason


def test_the_other_hand_can_take_the_outer_note() -> None:
    near = found("R: C4+E5/4; L: F3/4")[0]  # F3 to C4 is a fifth for the left hand
    far = found("R: C4+E5/4; L: C2/4")[0]
    free = found("R: C4+E5/4; L: r/4")[0]
    assert near.facts["share"] == free.facts["share"] == "C4"
    assert far.facts["share"] == ""
    assert near.severity == pytest.approx(far.severity * stretch.SHARED_SHARE)


def test_a_busy_other_hand_cannot() -> None:
    (one,) = found("R: r/2 C4+E5/2; L: C3/4")
    assert one.facts["share"] == ""


def test_a_held_note_and_a_played_one() -> None:
    (one,) = found("R: C4/4; R2: r/2 D5/2; L: C2/4")
    assert (one.family, one.facts["held"], one.numbers["mm"]) == (
        "held",
        "C4",
        pytest.approx(188.0),
    )
    (pedalled,) = found("R: @& C4/4 @*; R2: r/2 D5/2; L: C2/4")
    assert pedalled.facts["pedalled"]
    assert pedalled.severity < one.severity


@pytest.mark.parametrize(
    "text",
    [
        "R: C4+G4/4; L: C3+C4/4",
        "R: C4/2 D5/2; L: C3/4",  # one after the other
        "R: C4/4; R2: r/2 C6/2; L: C2/4",  # nobody holds two octaves: the pedal does
        "R: C4/4; L: C3/4",
    ],
)
def test_no_stretch(text: str) -> None:
    assert found(text) == []


def test_a_doubled_outer_note_can_be_left_out() -> None:
    (one,) = found("R: E4+C5+G5/4; L: E2/4")
    assert one.facts["doubled"] == "E4"
    spot = find_spots(context("R: E4+C5+G5/4; L: E2/4"))[0]
    assert any("Leave out E4" in step for step in spot.wording.try_)


def test_the_words_warn_of_stretching() -> None:
    for text in ("R: C4+E5/4; L: C2/4", "R: C4/4; R2: r/2 D5/2; L: C2/4"):
        spot = next(s for s in find_spots(context(text)) if s.kind == "stretch")
        assert any("Never stretch beyond comfort" in step for step in spot.wording.try_)
        assert "21 cm" in spot.wording.reason or "19 cm" in spot.wording.reason
