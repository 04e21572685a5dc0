"""Words for tempi: the unit that a metronome can beat, and where the tempo comes from."""

from fractions import Fraction

import pytest

from passagework.spots import words_of
from tests.spots.build import context

START = Fraction(0)


@pytest.mark.parametrize(
    ("time", "tempo", "share", "words"),
    [
        ("4/4", 96, 1.0, "crotchet = 96"),
        ("4/4", 96, 0.5, "crotchet = 48"),
        ("4/4", 40, 0.5, "quaver = 40"),  # 20 crotchets a minute hold no beat together
        ("6/8", 90, 1.0, "dotted crotchet = 60"),
        ("3/4", 330, 1.0, "dotted minim = 110"),  # beyond a metronome's 208: the bar
        ("4/4", 320, 1.0, "minim = 160"),
    ],
)
def test_tempo(time: str, tempo: int, share: float, words: str) -> None:
    length = {"4/4": "4", "6/8": "3", "3/4": "3"}[time]
    score = context(f"R: C5/{length}; L: C3/{length}", time=time, tempo=tempo)
    assert words_of.tempo_words(score, START, share) == words


def test_where_the_tempo_comes_from() -> None:
    marked = context("R: C5/4; L: C3/4", tempo=96)
    assert words_of.tempo_basis(marked, START) == "at the printed tempo (crotchet = 96)"
    assert words_of.tempo_source(marked, START) == "printed metronome mark"
    silent = context("R: C5/4; L: C3/4", tempo=None)
    assert "assumed because the score gives no tempo" in words_of.tempo_basis(silent, START)


@pytest.mark.parametrize(
    ("value", "text"), [(7.0, "7"), (7.25, "7.2"), (7.46, "7.5"), (0.04, "0"), (120.0, "120")]
)
def test_decimal(value: float, text: str) -> None:
    assert words_of.decimal(value) == text


def test_centimetres_to_the_half() -> None:
    assert words_of.centimetres(188.0) == "19 cm"
    assert words_of.centimetres(164.5) == "16.5 cm"
    assert words_of.listed([]) == ""
    assert words_of.times(1) == "once"
    assert words_of.times(3) == "three times"
