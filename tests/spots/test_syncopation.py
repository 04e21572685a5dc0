"""Syncopations: the metrical weights of Longuet-Higgins and Lee, and what is and is not one."""

from fractions import Fraction

import pytest

from passagework.spots import syncopation
from tests.spots.build import context, piece


def found(text: str, **options: object) -> list[syncopation.Candidate]:
    return list(syncopation.find(context(text, **options)))


@pytest.mark.parametrize(
    ("time", "offset", "expected"),
    [
        ("4/4", Fraction(0), 0),
        ("4/4", Fraction(2), -1),
        ("4/4", Fraction(1), -2),
        ("4/4", Fraction(3), -2),
        ("4/4", Fraction(1, 2), -3),
        ("4/4", Fraction(1, 4), -4),
        ("3/4", Fraction(1), -1),
        ("3/4", Fraction(1, 2), -2),
        ("6/8", Fraction(3, 2), -1),
        ("6/8", Fraction(1, 2), -2),
        ("6/8", Fraction(1, 4), -3),
        ("2/4", Fraction(1), -1),
    ],
)
def test_weight(time: str, offset: Fraction, expected: int) -> None:
    length = {"4/4": 4, "3/4": 3, "6/8": 3, "2/4": 2}[time]
    bar = piece(f"R: C5/{length}; L: C3/{length}", time=time).bars[0]
    assert syncopation.weight(bar, offset) == expected


def test_a_quaver_held_over_the_beat_that_nobody_strikes() -> None:
    (one,) = found("R: C5/1/2 D5/1 E5/1/2 F5/2; L: C3/4")
    assert (one.hand, one.family, one.numbers["count"], one.numbers["unheard"]) == ("right", "held", 1, 1)  # fmt: skip
    # D5 on the half beat (-3) over beat two (-2): strength 1, and nobody strikes the beat.
    assert one.numbers["strength"] == pytest.approx(1.0)


def test_a_tie_over_the_bar_line() -> None:
    (one,) = found("R: C5/3 D5/1~ | D5/1 E5/3; L: C3/4 | G3/4")
    assert one.numbers["barlines"] == 1
    assert (one.first_bar, one.last_bar) == (0, 1)
    # Beat four (-2) over the bar line (0): 2, times 0.6 since the left hand strikes it.
    assert one.numbers["strength"] == pytest.approx(1.2)


def test_the_other_hand_on_the_beat_makes_it_milder() -> None:
    alone = found("R: C5/1/2 D5/1 E5/1/2 F5/2; L: C3/4", tempo=90)[0]
    heard = found("R: C5/1/2 D5/1 E5/1/2 F5/2; L: C3/1 C3/1 C3/2", tempo=90)[0]
    assert heard.numbers["unheard"] == 0
    assert heard.numbers["strength"] == pytest.approx(0.6)
    assert alone.numbers["strength"] > heard.numbers["strength"]


def test_after_beats_are_rested() -> None:
    (one,) = found("R: r/1/2 C5/1/2 r/1/2 D5/1/2 r/1/2 E5/1/2 r/1/2 F5/1/2; L: C3/1 D3/1 E3/1 F3/1")
    assert one.family == "rested"
    assert one.numbers["count"] == 3  # the last one is followed by nothing


@pytest.mark.parametrize(
    "text",
    [
        "R: C5/1 D5/1 E5/1 F5/1; L: C3/4",
        "R: C5/3/2 D5/1/2 E5/2; L: C3/4",  # a dotted figure starts on the beat
        "R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/2; L: C3/4",
        "R: C5/2 D5/2 | r/4 | E5/4; L: C3/4 | C3/4 | C3/4",
        "R: r/1/2 G4/1/4 C5/1/4 E5/1/4 G4/1/4 C5/1/4 E5/1/4 r/1/2 G4/1/4 C5/1/4 E5/1/4 G4/1/4 C5/1/4 E5/1/4;"
        "L: C4/1/4 E4/7/4 C4/1/4 E4/7/4",  # a broken chord shared by the hands: see below
    ],
)  # fmt: skip
def test_no_syncopation(text: str) -> None:
    assert [c for c in found(text) if c.severity >= 0.35] == []


def test_crotchets_in_six_eight_cross_the_second_beat() -> None:
    # Nothing here is shorter than a crotchet, so that a beat of 6/8 is no whole number of ticks.
    (one,) = found("R: C5/1 D5/1 E5/1; L: C3/3", time="6/8")
    assert (one.family, one.numbers["count"]) == ("held", 1)


def test_a_weak_beat_is_called_one() -> None:
    score = context("R: C5/1 D5/2 E5/1; L: C3/4", tempo=100)
    (one,) = syncopation.find(score)
    words = syncopation.describe([one], score)
    assert "one note on a weak beat, held over the stronger beat that follows" in words.reason
