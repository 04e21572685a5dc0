"""Double notes: the sort, the rate, the touch, and what is not a succession."""

import pytest

from passagework.spots import double_notes
from passagework.spots.find import find_spots
from tests.spots.build import context


def found(text: str, **options: object) -> list[double_notes.Candidate]:
    return list(double_notes.find(context(text, **options)))


THIRDS = "C4+E4/1/2 D4+F4/1/2 E4+G4/1/2 F4+A4/1/2 G4+B4/2"


def test_thirds_two_a_second() -> None:
    (one,) = found(f"R: {THIRDS}; L: C3/4", tempo=60)
    assert (one.hand, one.family) == ("right", "thirds")
    assert one.numbers["rate"] == pytest.approx(2.0)
    assert one.numbers["pairs"] == one.numbers["run"] == 5
    assert one.facts["way"] == "upwards"
    assert len(one.note_ids) == 10


@pytest.mark.parametrize(
    ("music", "sort"),
    [
        ("C4+A4/1/2 D4+B4/1/2 E4+C5/1/2 F4+D5/1/2 G4+E5/2", "sixths"),
        ("C4+F4/1/2 D4+G4/1/2 E4+A4/1/2 F4+B4/1/2 G4+C5/2", "fourths"),
        ("C4+E4/1/2 C4+F4/1/2 B3+G4/1/2 C4+E4/1/2 C4+G4/2", "double notes"),
        # The letters count, not the semitones: an augmented second is no third.
        ("C4+Eb4/1/2 D4+F4/1/2 Eb4+G4/1/2 F4+Ab4/1/2 G4+Bb4/2", "thirds"),
    ],
)
def test_sort(music: str, sort: str) -> None:
    assert [c.family for c in found(f"R: {music}; L: C3/4")] == [sort]


def test_a_slur_is_harder_and_dots_are_easier() -> None:
    plain = found(f"R: {THIRDS}; L: C3/4")[0]
    slurred = found(
        "R: C4+E4/1/2!( D4+F4/1/2 E4+G4/1/2 F4+A4/1/2 G4+B4/2!); L: C3/4"
    )[0]  # fmt: skip
    assert slurred.facts["touch"] == "legato"
    assert slurred.severity > plain.severity


def test_two_voices_in_one_rhythm_are_double_notes() -> None:
    text = "R: E4/1/2 F4/1/2 G4/1/2 A4/1/2 B4/2; R2: C4/1/2 D4/1/2 E4/1/2 F4/1/2 G4/2; L: C3/4"
    assert [c.family for c in found(text)] == ["thirds"]


@pytest.mark.parametrize(
    "text",
    [
        "R: C4+E4/1/2 C4+E4/1/2 C4+E4/1/2 C4+E4/1/2 C4+E4/2; L: C3/4",  # one chord, repeated
        "R: C4+E4/1/2 D4+F4/1/2 E4+G4/1 G4/2; L: C3/4",  # two pairs and a longer one
        "R: C4+E4/1/4 r/1/4 D4+F4/1/4 r/1/4 E4+G4/1/4 r/1/4 F4+A4/1/4 r/1/4 G4/2; L: C3/4",
        "R: C4+C5/1/2 D4+D5/1/2 E4+E5/1/2 F4+F5/1/2 G4/2; L: C3/4",  # octaves
        "R: C3+E4/1/2 D3+F4/1/2 E3+G4/1/2 F3+A4/1/2 G4/2; L: C2/4",  # no hand spans tenths at once
        "R: C4/1/2 D4/1/2 E4/1/2 F4/1/2 G4/2; L: E3/1/2 F3/1/2 G3/1/2 A3/1/2 B3/2",  # two hands
    ],
)  # fmt: skip
def test_no_double_notes(text: str) -> None:
    assert found(text) == []


def test_words() -> None:
    spots = find_spots(context(f"R: {THIRDS}; L: C3/4", tempo=90))
    words = next(s for s in spots if s.kind == "double-notes").wording
    assert words.title == "Thirds in the right hand"
    assert (
        "five pairs of thirds upwards in bar 1, from C4 and E4 to G4 and B4, 3 pairs a second"
        in words.reason
    )
