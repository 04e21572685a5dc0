"""Terms where they stand: compared with what stood before, followed to what comes after."""

from __future__ import annotations

import os
import time
from pathlib import Path

import pytest

from passagework.analysis.terms_read import Term, read_terms
from passagework.score import read_score
from tests.analysis.terms_piece import piece

DATA = Path(os.environ.get("PASSAGEWORK_DATA", Path(__file__).parents[3] / "shared" / "data"))
SCORES = sorted((DATA / "scores").glob("*.musicxml"))


def only(terms: tuple[Term, ...], text: str) -> Term:
    (found,) = [t for t in terms if t.text == text]
    return found


def test_meno_f_names_the_sign_it_is_compared_with() -> None:
    terms = read_terms(piece(words=[(9, 0, "meno f")], signs=[(1, 0, "p"), (5, 0, "f")]))
    term = only(terms, "meno f")
    assert term.meaning == "softer than before"
    assert term.consequence == "softer than bar 5, which was f: about mf"
    assert term.directions == (("loudness", -1),)


def test_a_word_for_a_level_is_louder_or_softer_by_what_stood_before() -> None:
    for before, direction, word in (("ff", -1, "softer"), ("pp", 1, "louder")):
        terms = read_terms(piece(words=[(5, 0, "mezza voce")], signs=[(1, 0, before)]))
        assert terms[0].directions == (("loudness", direction),)
        assert terms[0].consequence == f"{word} than bar 1, which was {before}"


def test_a_crescendo_leads_to_the_sign_after_it() -> None:
    terms = read_terms(piece(words=[(3, 0, "cresc.")], signs=[(1, 0, "p"), (5, 0, "f")]))
    assert terms[0].consequence == "growing from p on the way to the f of bar 5"


def test_a_crescendo_into_a_sudden_piano_says_so() -> None:
    terms = read_terms(piece(words=[(3, 0, "cresc.")], signs=[(1, 0, "p"), (5, 0, "p")]))
    assert "the p of bar 5, which is softer than where it arrives" in terms[0].consequence


def test_rit_lasts_until_a_tempo_which_goes_back() -> None:
    terms = read_terms(
        piece(
            words=[(1, 0, "Allegro"), (6, 0, "rit."), (8, 0, "a tempo")], metronomes=[(1, 0, 120)]
        )
    )
    assert only(terms, "rit.").consequence == "getting slower until “a tempo” in bar 8"
    back = only(terms, "a tempo")
    assert back.consequence == "back to the speed of bar 1: faster than just before"
    assert back.directions == (("tempo", 1),)


def test_rit_at_the_end_and_rit_without_end() -> None:
    terms = read_terms(piece(words=[(4, 0, "rit."), (15, 0, "rall.")], metronomes=[(1, 0, 100)]))
    assert "nothing says where it ends" in only(terms, "rit.").consequence
    assert only(terms, "rall.").consequence == "getting slower to the end of the piece"


def test_tempo_primo_after_a_slower_part_is_faster() -> None:
    terms = read_terms(
        piece(
            words=[(1, 0, "Andante"), (5, 0, "Meno mosso"), (9, 0, "Tempo I")],
            metronomes=[(1, 0, 80)],
        )
    )
    slower = only(terms, "Meno mosso")
    assert slower.directions == (("tempo", -1),)
    assert slower.consequence.startswith("slower than bar 1: about 68 crotchets a minute, after 80")
    assert only(terms, "Tempo I").directions == (("tempo", 1),)
    assert "back to the speed of bar 1" in only(terms, "Tempo I").consequence


def test_the_left_pedal_is_followed_until_it_comes_up() -> None:
    terms = read_terms(piece(words=[(2, 0, "una corda"), (7, 0, "tre corde")]))
    assert terms[0].consequence == "left pedal down until “tre corde” in bar 7"
    assert terms[1].consequence == "left pedal up, which was down since bar 2"


def test_words_scattered_over_bars_are_one_term() -> None:
    terms = read_terms(
        piece(words=[(2, 0, "poco"), (2, 2, "a poco"), (3, 0, "cresc.")], signs=[(1, 0, "p")])
    )
    assert [t.text for t in terms] == ["poco a poco cresc."]
    assert terms[0].onset == 4
    syllables = read_terms(piece(words=[(2, 0, "cre -"), (3, 0, "scen -"), (4, 0, "do")]))
    assert len(syllables) == 1
    assert syllables[0].meaning == "getting louder"


def test_subito_belongs_to_the_sign_at_its_place() -> None:
    terms = read_terms(piece(words=[(5, 0, "subito")], signs=[(1, 0, "f"), (5, 0, "p")]))
    assert terms[0].meaning == "suddenly soft"
    assert terms[0].consequence == "softer than bar 1, which was f"


def test_a_word_of_degree_alone_names_what_it_may_act_on() -> None:
    terms = read_terms(piece(words=[(1, 0, "Più mosso"), (4, 0, "dim."), (12, 0, "meno")]))
    term = only(terms, "meno")
    assert term.consequence == "before it stand “dim.” in bar 4 and “Più mosso” in bar 1"
    assert term.directions == ()
    assert len(term.other_readings) == 2


def test_titles_and_numbers_are_left_out_and_unknown_words_kept() -> None:
    terms = read_terms(
        piece(
            title="The Long Barn",
            words=[(1, 0, "The Long Barn"), (1, 0, "12"), (1, 1, "♩ = 60"), (3, 0, "alegreto")],
        )
    )
    assert [t.text for t in terms] == ["alegreto"]
    assert "did the page mean “allegretto”" in terms[0].consequence
    assert terms[0].meaning == ""


def test_a_piece_without_words_has_no_terms() -> None:
    assert read_terms(piece()) == ()


@pytest.mark.skipif(not SCORES, reason="the development scores are not here")
@pytest.mark.parametrize("name", ["schumann-kreisleriana-2", "rachmaninoff-prelude-32-5"])
def test_every_word_of_real_scores_is_understood_in_time(name: str) -> None:
    path = DATA / "scores" / f"{name}.musicxml"
    score = read_score(path.read_bytes(), path.name).piece
    terms = read_terms(score)
    assert len(terms) >= 10
    assert [w for t in terms for w in t.phrase.unknown] == []
    best = 9.0
    for _ in range(4):
        start = time.process_time()
        read_terms(score)
        best = min(best, time.process_time() - start)
    assert best < 0.05
