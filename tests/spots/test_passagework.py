"""Runs: length, rate, thumb passings and hands together."""

import pytest

from passagework.spots import passagework
from passagework.spots.find import find_spots
from tests.spots.build import context

SCALE = "C4/1/4 D4/1/4 E4/1/4 F4/1/4 G4/1/4 A4/1/4 B4/1/4 C5/1/4 "
DOWN = "C4/1/4 B3/1/4 A3/1/4 G3/1/4 F3/1/4 E3/1/4 D3/1/4 C3/1/4 "
OCTAVE_LOWER = "C3/1/4 D3/1/4 E3/1/4 F3/1/4 G3/1/4 A3/1/4 B3/1/4 C4/1/4 "


def found(text: str, **options: object) -> list[passagework.Candidate]:
    return list(passagework.find(context(text, **options)))


def test_a_scale() -> None:
    (one,) = found(f"R: {SCALE} r/2; L: C3/4", tempo=60)
    assert (one.hand, one.family, one.first_bar) == ("right", "scale", 0)
    assert one.numbers["rate"] == pytest.approx(4.0)
    assert one.numbers["notes"] == one.numbers["run"] == 8
    assert one.numbers["passings"] == 1
    assert (one.facts["low"], one.facts["high"]) == ("C4", "C5")


@pytest.mark.parametrize(
    ("midis", "passings"),
    [
        ([60, 62, 64, 65, 67], 0),
        ([60, 62, 64, 65, 67, 69, 71, 72], 1),  # one octave: thumb on 1 and 4
        ([60, 62, 64, 65, 67, 69, 71, 72, 74, 76, 77, 79, 81, 83, 84], 3),  # two octaves
        ([60, 62, 64, 65, 67, 65, 64, 62, 60], 0),  # up and down in five keys
        ([60, 64, 67, 72, 76, 79, 84], 1),  # two octaves of a broken chord
        ([60, 64, 67, 64, 60], 0),
        ([60], 0),
        ([], 0),
    ],
)
def test_thumb_passings(midis: list[int], passings: int) -> None:
    assert passagework.thumb_passings(midis, 170.0) == passings


def test_both_hands_are_told_once() -> None:
    (parallel,) = found(f"R: {SCALE} r/2; L: {OCTAVE_LOWER} r/2", tempo=60)
    assert (parallel.hand, parallel.facts["way"]) == ("both", "parallel")
    assert len(parallel.note_ids) == 16
    (contrary,) = found(f"R: {SCALE} r/2; L: {DOWN} r/2", tempo=60)
    assert contrary.facts["way"] == "contrary"
    (alone,) = found(f"R: {SCALE} r/2; L: C3/4", tempo=60)
    assert alone.facts["way"] == ""


def test_a_long_run_is_cut_at_the_bar_lines() -> None:
    two = found(f"R: {SCALE} {DOWN[7:]} B2/1/4 | {SCALE} r/2; L: C3/4 | C3/4", tempo=60)
    assert [c.first_bar for c in two] == [0, 1]
    assert two[0].numbers["run"] == two[1].numbers["run"] == 24


def test_faster_is_harder() -> None:
    fast = context(f"R: {SCALE} r/2; L: C3/4", tempo=60)
    rate = next(iter(passagework.find(fast))).numbers["rate"]
    faster = context(f"R: {SCALE} r/2; L: C3/4", tempo=90)
    assert next(iter(passagework.find(faster))).numbers["rate"] == pytest.approx(1.5 * rate)


def test_a_tune_and_its_figure_in_two_voices_that_take_turns() -> None:
    text = (
        "R: E5/1/4 r/3/4 F5/1/4 r/3/4 r/2; R2: r/1/4 C5/1/4 G4/1/4 C5/1/4 r/1/4 C5/1/4 G4/1/4 C5/1/4 r/2;"
        "L: C3/4"
    )
    (one,) = found(text, tempo=60)
    assert one.numbers["notes"] == 8


@pytest.mark.parametrize(
    "text",
    [
        "R: C4/1/4 D4/1/4 E4/1/4 F4/13/4; L: C3/4",  # too short
        "R: C4/3/8 D4/1/8 E4/3/8 F4/1/8 G4/3/8 A4/1/8 B4/3/8 C5/1/8 D5/2; L: C3/4",  # dotted
        "R: C4/1/4 C4/1/4 D4/1/4 D4/1/4 E4/1/4 E4/1/4 F4/1/4 F4/1/4 G4/2; L: C3/4",  # repeated keys
        "R: C4/1/4 E4/1/4 C4/1/4 E4/1/4 C4/1/4 E4/1/4 C4/1/4 E4/1/4 G4/2; L: C3/4",  # a tremolo
        "R: C4+E4/1/4 D4+F4/1/4 E4+G4/1/4 F4+A4/1/4 G4+B4/1/4 A4+C5/1/4 B4+D5/1/4 C5+E5/1/4 G4/2; L: C3/4",
    ],
)  # fmt: skip
def test_no_run(text: str) -> None:
    assert found(text) == []


def test_words_name_rate_range_and_source_of_the_tempo() -> None:
    spots = find_spots(context(f"R: {SCALE} r/2; L: C3/4", tempo=None))
    words = next(s for s in spots if s.kind == "passagework").wording
    assert "between C4 and C5" in words.reason
    assert "the score gives no tempo" in words.reason
    assert words.evidence[0].unit == "notes/s"


def test_five_notes_are_a_run_in_an_easy_piece_only() -> None:
    five = "C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/3"
    easy = context(f"R: {five}; L: C3/4", tempo=60)
    assert easy.level.value < passagework.EASY_LEVEL
    assert [c.numbers["run"] for c in passagework.find(easy)] == [5]
    dense = "C2+C3/1/4 E3+C4/1/4 G3+E4/1/4 E3+C4/1/4 " * 4
    hard = context(f"R: {five}; L: {dense}", tempo=120)
    assert hard.level.value > passagework.EASY_LEVEL
    assert list(passagework.find(hard)) == []
