"""Words easily misread: which of them are found, and what is said."""

from __future__ import annotations

import pytest

from passagework.spots.words import COMPARED, CONTRARY, KIND, LEVEL_OFF
from tests.spots.build import context

FOUR = "C5/1 D5/1 E5/1 F5/1"
LEFT = "L: " + " | ".join(["C3/4"] * 6)


def found(text: str) -> list:  # type: ignore[type-arg]
    return list(KIND.find(context(f"R: {text}; {LEFT}")))


def test_meno_f_is_softer_and_one_level_from_the_f_that_is_seen() -> None:
    (only,) = found(f'@f {FOUR} | {FOUR} | @"meno_f" {FOUR}')
    assert only.family == "comparison"
    assert only.numbers["off"] == 1.0  # mf, not f
    assert only.numbers["weight"] == pytest.approx(COMPARED + LEVEL_OFF + CONTRARY)
    assert only.facts["here"] == "softer than bar 1, which was f: about mf"
    assert only.facts["compared"] == "bar 1"
    assert len(only.note_ids) == 2  # C5 and C3 of bar 3


def test_meno_p_is_louder() -> None:
    (only,) = found(f'@p {FOUR} | {FOUR} | @"meno_p" {FOUR}')
    assert only.facts["meaning"] == "louder than before"


def test_piu_piano_after_pianissimo_is_two_levels_from_p() -> None:
    (only,) = found(f'@pp {FOUR} | {FOUR} | @"più_p" {FOUR}')
    assert only.numbers["off"] == 2.0


def test_the_first_terms_are_no_difficulty() -> None:
    assert found(f'@p @"dolce" {FOUR} | @"cresc." {FOUR} | @f {FOUR} | @"legato" {FOUR}') == []


def test_a_german_term_weighs_more_than_an_italian_one() -> None:
    (german,) = found(f'{FOUR} | @"wehmütig" {FOUR}')
    (italian,) = found(f'{FOUR} | @"mesto" {FOUR}')
    assert german.family == italian.family == "language"
    assert german.severity > italian.severity


def test_a_term_that_comes_back_is_known() -> None:
    rows = found(f'@"wehmütig" {FOUR} | {FOUR} | @"wehmütig" {FOUR}')
    assert [r.first_bar for r in rows] == [0]


def test_a_misspelled_word_is_unknown_and_offered() -> None:
    (only,) = found(f'{FOUR} | @"acelerandoo" {FOUR}')
    assert only.family == "unknown"
    wording = KIND.describe([only], context(f"R: {FOUR} | {FOUR}; L: C3/4 | C3/4"))
    assert "not in the lexicon" in wording.title


def test_a_crescendo_cut_off_by_a_softer_sign() -> None:
    rows = found(f'@p {FOUR} | @"cresc." {FOUR} | {FOUR} | {FOUR} | {FOUR} | @p {FOUR}')
    (only,) = rows
    assert only.family == "reach"
    wording = KIND.describe([only], context(f"R: {FOUR} | {FOUR}; L: C3/4 | C3/4"))
    assert "cut off" in wording.title


def test_the_same_beat_and_two_readings() -> None:
    assert found(f'{FOUR} | @"l\'istesso_tempo" {FOUR}')[0].family == "beat"
    (both,) = found(f'{FOUR} | @"sostenuto" {FOUR}')
    assert "doubt" in both.facts["parts"]
    assert "somewhat slower" in both.facts["others"]
