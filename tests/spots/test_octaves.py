"""Octaves: plain, full and broken, against the size of the hand."""

import pytest

from passagework.spots import octaves
from passagework.spots.find import find_spots
from tests.spots.build import context

FOUR = "C3+C4/1/2 D3+D4/1/2 E3+E4/1/2 F3+F4/1/2 G3+G4/2"


def found(text: str, **options: object) -> list[octaves.Candidate]:
    return list(octaves.find(context(text, **options)))


def test_a_succession() -> None:
    (one,) = found(f"R: C5/4; L: {FOUR}", tempo=60)
    assert (one.hand, one.family) == ("left", "octaves")
    assert one.numbers["rate"] == pytest.approx(2.0)
    assert one.numbers["octaves"] == 5
    assert one.numbers["seconds"] == pytest.approx(2.0)


def test_a_smaller_hand_finds_it_harder() -> None:
    large = found(f"R: C5/4; L: {FOUR}", reach=22.6)[0]
    small = found(f"R: C5/4; L: {FOUR}", reach=18.5)[0]
    assert small.severity > large.severity
    beyond = find_spots(context(f"R: C5/4; L: {FOUR}", reach=16.0))
    words = next(s for s in beyond if s.kind == "octaves").wording
    assert "cannot reach it" in words.reason
    assert "never stretch to reach an octave" in words.try_[0]


def test_full_chords() -> None:
    (full,) = found("R: C4+E4+C5/1 D4+F4+D5/1 E4+G4+E5/1 F4/1; L: C3/4")
    assert full.family == "full chords"
    (bare,) = found("R: C4+C5/1 D4+D5/1 E4+E5/1 F4/1; L: C3/4")
    assert bare.family == "octaves"
    assert full.numbers["rate"] == bare.numbers["rate"]
    assert full.severity > bare.severity


def test_broken_octaves() -> None:
    text = "R: C5/4; L: C2/1/4 C3/1/4 D2/1/4 D3/1/4 E2/1/4 E3/1/4 F2/1/4 F3/1/4 G2/2"
    assert [c.family for c in found(text)] == ["broken octaves"]


@pytest.mark.parametrize(
    "text",
    [
        "R: C5/4; L: C3+C4/2 D3+D4/2",
        "R: C5/4; L: C3/1 C4/1 D3/1 D4/1",  # too few for broken octaves
        "R: C5/4; L: C3/1/4 E3/1/4 G3/1/4 C4/1/4 D3/1/4 F3/1/4 A3/1/4 D4/1/4 C3/2",
        "R: C5/1 D5/1 E5/1 F5/1; L: C4/1 D4/1 E4/1 F4/1",  # an octave between the hands
        "R: C4+C5/1/4 r/3/4 D4+D5/1/4 r/3/4 E4+E5/1/4 r/3/4 F4/1; L: C3/4",
    ],
)
def test_no_octaves(text: str) -> None:
    assert found(text) == []
