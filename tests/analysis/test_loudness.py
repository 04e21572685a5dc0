"""Loudness worked out by hand: signs, hairpins, words, accents, and marks that differ between the hands."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.analysis.loudness import loudness_curve
from passagework.analysis.loudness_levels import SIGNS, level_name, level_of, read_sign, velocity
from tests.analysis.terms_piece import piece


def test_the_scale_is_even_and_rises() -> None:
    levels = [level_of(s) for s in SIGNS]
    assert levels == list(range(10))
    velocities = [velocity(float(k)) for k in range(10)]
    assert velocities == [1, 16, 32, 48, 64, 80, 96, 112, 127, 127]


@pytest.mark.parametrize(
    ("text", "level", "steps", "attack"),
    [
        ("p", 3, 0, None), ("mf", 5, 0, None), ("sf", None, 1.5, None), ("sfz", None, 1.5, None),
        ("fz", None, 1.5, None), ("sffz", None, 2.5, None), ("rf", None, 1.0, None), ("fp", 3, 0, 6),
        ("ffp", 3, 0, 7), ("sfp", 3, 1.5, None), ("sfpp", 2, 1.5, None),
    ],
)  # fmt: skip
def test_signs(text: str, level: float | None, steps: float, attack: float | None) -> None:
    sign = read_sign(text)
    assert sign is not None
    assert (sign.level, sign.attack_steps, sign.attack_level) == (level, steps, attack)


def test_words_are_no_signs() -> None:
    for text in ("cresc.", "dolce", "", "pf", "x"):
        assert read_sign(text) is None


def test_names_between_signs() -> None:
    assert level_name(5.1) == "mf"
    assert level_name(3.5) == "between p and mp"


def test_nothing_marked_is_assumed_mf() -> None:
    found = loudness_curve(piece()).at(Fraction(7), 2)
    assert (found.sign, found.source) == ("mf", "assumed")


def test_a_sign_holds_until_the_next_in_both_hands() -> None:
    curve = loudness_curve(piece(signs=[(1, 0, "p"), (5, 0, "f")]))
    for staff in (1, 2):
        assert curve.at(Fraction(15), staff).sign == "p"
        assert curve.at(Fraction(16), staff).sign == "f"
        assert curve.at(Fraction(16), staff).source == "marked"


def test_marks_that_differ_are_each_for_their_hand() -> None:
    curve = loudness_curve(piece(signs=[(1, 0, "mf", 1), (1, 0, "pp", 2), (5, 0, "f", 1)]))
    assert curve.at(Fraction(2), 1).sign == "mf"
    assert curve.at(Fraction(2), 2).sign == "pp"
    assert curve.at(Fraction(17), 2).sign == "f"


def test_a_hairpin_leads_to_the_sign_at_its_end() -> None:
    curve = loudness_curve(
        piece(signs=[(1, 0, "p"), (3, 0, "f")], hairpins=[((2, 0), (3, 0), "crescendo")])
    )
    assert curve.at(Fraction(4)).level == 3.0
    assert curve.at(Fraction(6)).level == pytest.approx(4.5)
    assert curve.at(Fraction(6)).source == "marked"
    assert curve.at(Fraction(8)).level == 6.0


def test_a_hairpin_into_a_softer_sign_is_an_assumed_swell_and_a_sudden_drop() -> None:
    curve = loudness_curve(
        piece(signs=[(1, 0, "p"), (3, 0, "p")], hairpins=[((2, 0), (3, 0), "crescendo")])
    )
    near_end = curve.at(Fraction(31, 4))
    assert 3.8 < near_end.level < 4.0
    assert near_end.source == "assumed"
    assert curve.at(Fraction(8)).level == 3.0


def test_a_swell_comes_back() -> None:
    curve = loudness_curve(
        piece(
            signs=[(1, 0, "p")],
            hairpins=[((2, 0), (3, 0), "crescendo"), ((3, 0), (4, 0), "diminuendo")],
        )
    )
    assert curve.at(Fraction(8)).level == pytest.approx(4.0)
    assert curve.at(Fraction(14)).level == pytest.approx(3.0)


def test_many_hairpins_do_not_add_up() -> None:
    pins = [((k, 0), (k, 3), "crescendo") for k in range(2, 14)]
    curve = loudness_curve(piece(signs=[(1, 0, "p")], hairpins=pins))
    assert curve.at(Fraction(60)).level == 5.0


def test_crescendo_in_words_and_poco() -> None:
    plain = loudness_curve(piece(words=[(3, 0, "cresc.")], signs=[(1, 0, "p")]))
    little = loudness_curve(piece(words=[(3, 0, "poco cresc.")], signs=[(1, 0, "p")]))
    assert plain.at(Fraction(60)).level == 4.0
    assert little.at(Fraction(60)).level == 3.5
    goal = loudness_curve(piece(words=[(3, 0, "cresc.")], signs=[(1, 0, "p"), (5, 0, "ff")]))
    assert goal.at(Fraction(12)).level == pytest.approx(5.0)


def test_two_changes_on_the_way_to_one_sign_share_it() -> None:
    curve = loudness_curve(
        piece(
            signs=[(1, 0, "p"), (5, 0, "f")],
            words=[(3, 0, "cresc.")],
            hairpins=[((4, 0), (5, 0), "crescendo")],
        )
    )
    assert curve.at(Fraction(12)).level == pytest.approx(4.5)
    assert curve.at(Fraction(16)).level == 6.0


@pytest.mark.parametrize(
    ("before", "text", "level"),
    [
        ("f", "meno f", 5.0), ("f", "poco meno f", 5.5), ("f", "più f", 7.0), ("p", "più p", 2.0), ("p", "meno p", 4.0),
        ("mf", "subito pp", 2.0), ("f", "mezza voce", 4.0), ("f", "molto meno f", 4.5),
    ],
)  # fmt: skip
def test_words_for_levels(before: str, text: str, level: float) -> None:
    curve = loudness_curve(piece(words=[(5, 0, text)], signs=[(1, 0, before)]))
    assert curve.at(Fraction(15)).level == level_of(before)
    assert curve.at(Fraction(16)).level == level


def test_p_f_is_p_the_first_time() -> None:
    curve = loudness_curve(piece(words=[(5, 0, "p - f")], signs=[(1, 0, "mf")]))
    assert curve.at(Fraction(16)).sign == "p"


def test_accents_are_for_their_notes_only() -> None:
    score = piece(signs=[(1, 0, "p"), (3, 0, "sf"), (5, 0, "fp")])
    curve = loudness_curve(score)
    by_onset = {n.onset: n for n in score.notes if n.staff == 1}
    assert curve.of(by_onset[Fraction(8)]).level == 4.5
    assert curve.of(by_onset[Fraction(17, 2)]).level == 3.0
    assert curve.of(by_onset[Fraction(16)]).level == 6.0
    assert curve.of(by_onset[Fraction(33, 2)]).level == 3.0


def test_a_word_with_its_own_hairpin_counts_once() -> None:
    curve = loudness_curve(
        piece(
            words=[(3, 0, "cresc.")],
            signs=[(1, 0, "p")],
            hairpins=[((3, 0), (5, 0), "crescendo")],
        )
    )
    assert curve.at(Fraction(60)).level == 4.0


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.integers(1, 16), st.sampled_from([0, 1, 2]),
            st.sampled_from([*SIGNS, "sf", "fp", "cresc.", "dim."]), st.sampled_from([1, 2]),
        ),
        max_size=10,
    ),
    st.lists(
        st.tuples(st.integers(1, 15), st.integers(1, 7), st.sampled_from(["crescendo", "diminuendo"])),
        max_size=6,
    ),
)  # fmt: skip
def test_the_curve_covers_the_piece_and_stays_on_the_scale(
    signs: list[tuple[int, float, str, int]], pins: list[tuple[int, int, str]]
) -> None:
    score = piece(
        signs=sorted(signs),
        hairpins=[((b, 0), (b, float(n)), kind) for b, n, kind in sorted(pins)],
    )
    curve = loudness_curve(score)
    for staff, spans in curve.spans.items():
        assert spans[0].onset == 0
        assert spans[-1].end >= score.end
        for a, b in itertools.pairwise(spans):
            assert a.end == b.onset
        for k in range(128):
            found = curve.at(Fraction(k, 2), staff)
            assert 0 <= found.level <= 9
            assert 1 <= found.velocity <= 127
