"""Leaps: distance of the hand, time, and Fitts' index, worked out by hand."""

from math import log2

import pytest

from passagework.spots import leap
from passagework.spots.context import Attack
from passagework.spots.find import find_spots
from tests.spots.build import context


def leaps(text: str, **options: object) -> list[leap.Candidate]:
    return [c for c in leap.find(context(text, **options)) if not c.family]


def test_distance_is_what_the_hand_moves() -> None:
    score = context("R: C4/2 C6/2; L: C3/4", tempo=60)
    low, high = score.attacks["right"]
    # Two octaves are 14 white keys of 23.5 mm; a hand that covers 100 mm moves the rest.
    assert leap.travel_mm(low, high, 100.0) == pytest.approx(14 * 23.5 - 100)
    assert leap.travel_mm(high, low, 100.0) == pytest.approx(-(14 * 23.5 - 100))


def test_an_octave_moves_by_its_whole_way() -> None:
    score = context("R: C4+C5/2 C5+C6/2; L: C3/4")
    low, high = score.attacks["right"]
    assert leap.travel_mm(low, high, 100.0) == pytest.approx(7 * 23.5)


def test_a_bass_note_under_its_chord_is_near() -> None:
    score = context("R: C5/4; L: C3/2 E3+G3/2")
    bass, chord = score.attacks["left"]
    assert leap.travel_mm(bass, chord, 100.0) == 0.0


def test_index_of_difficulty_and_time() -> None:
    (one,) = leaps("R: C4/1 C6/3; L: C3/4", tempo=60)
    covered = leap.covered_mm(context("R: C4/1 C6/3; L: C3/4", tempo=60))
    assert one.numbers["seconds"] == pytest.approx(1.0)  # joined: from attack to attack
    assert one.numbers["bits"] == pytest.approx(log2(2 * (14 * 23.5 - covered) / 23.5))
    assert one.facts["way"] == "up"


def test_a_rest_counts_from_the_release() -> None:
    (one,) = leaps("R: C4/1/4 r/7/4 C6/2; L: C3/4", tempo=60)
    assert one.numbers["seconds"] == pytest.approx(1.75)
    (short,) = leaps("R: C4/7/4 r/1/4 C6/2; L: C3/4", tempo=60)
    assert short.numbers["seconds"] == pytest.approx(0.75 * 2)


def test_black_keys_are_narrower_and_soft_landings_harder() -> None:
    plain = leaps("R: C4/1 C6/3; L: C3/4", tempo=60)[0]
    black = leaps("R: C4/1 C#6/3; L: C3/4", tempo=60)[0]
    soft = leaps("R: @pp C4/1 C6/3; L: C3/4", tempo=60)[0]
    assert black.numbers["bits"] > plain.numbers["bits"]
    assert black.numbers["target"] == leap.BLACK_WIDTH_MM
    assert soft.severity > plain.severity
    assert soft.facts["sign"] == "pp"


def test_both_hands_apart() -> None:
    one, other = leaps("R: C5/1 C7/3; L: C3/1 C1/3", tempo=60)
    assert one.facts["both"] == other.facts["both"] == "apart"
    same = leaps("R: C4/1 C6/3; L: C1/1 C3/3", tempo=60)
    assert {c.facts["both"] for c in same} == {"together"}


@pytest.mark.parametrize(
    "text",
    [
        "R: C4/1 D4/1 E4/1 F4/1; L: C3/4",
        "R: C4/1 G4/1 C4/1 G4/1; L: C3/4",
        "R: C4/4 | r/4 | r/4 | C6/4; L: C3/4 | C3/4 | C3/4 | C3/4",  # more than time enough
    ],
)
def test_no_leap(text: str) -> None:
    assert leaps(text, tempo=60) == []


def test_a_new_position_in_an_easy_piece() -> None:
    text = "R: C4/1 E4/1 G4/1 E4/1 | C5/1 E5/1 G5/2; L: C3/4 | C3/4"
    score = context(text, tempo=60)
    moves = [c for c in leap.find(score) if c.family == "new position" and c.hand == "right"]
    # Level 0.13: the hand covers a sixth. C4 to G4 and C5 to G5 are two positions; in even crotchets
    # the move goes where it is widest, from E4 (or G4) up to C5.
    assert [(c.first_bar, c.last_bar, c.facts["from"], c.facts["to"]) for c in moves] == [
        (0, 1, "E4", "C5")
    ]
    assert moves[0].numbers["steps"] == 5
    words = next(s for s in find_spots(score) if s.family == "new position").wording
    assert "leaves the keys it lies on" in words.reason


def test_the_move_is_put_where_there_is_time() -> None:
    text = "R: C4/1 D4/1 E4/2 | r/4 | G4/1 A4/1 B4/1 C5/1; L: C3/4 | C3/4 | C3/4"
    moves = [c for c in leap.find(context(text, tempo=60)) if c.hand == "right"]
    assert [c.facts["to"] for c in moves] == ["G4"]


def test_attack_order_is_from_low_to_high() -> None:
    attack = context("R: G4+C4/4; L: C3/4").attacks["right"][0]
    assert isinstance(attack, Attack)
    assert [str(n.pitch) for n in attack.notes] == ["C4", "G4"]
