"""The ordinal model, and what is said about a placement."""

from __future__ import annotations

import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.demands.levels import FEWEST_GRADED, GradedPiece, interval, learn_levels
from passagework.demands.ordinal import choose_strength, fit
from passagework.demands.profile import PROFILE_VERSION, Demands
from passagework.demands.scale import PARTS
from passagework.demands.words import figure, ranked_only, reason_sentence

WEIGHTS = np.array([p.weight for p in PARTS])


def made(standing: float, **more: float) -> Demands:
    """A piece whose demands all stand at one height, but for `more`."""
    values = {p.name: p.value_at(more.get(p.name, standing)) for p in PARTS}
    return Demands(PROFILE_VERSION, 20.1, {}, values, {p.name: (3, 5) for p in PARTS})


def library(count: int, levels: int, seed: int = 0, noise: float = 0.15) -> list[GradedPiece]:
    """Pieces whose level is their mean demand, each demand with noise of its own."""
    rng = np.random.default_rng(seed)
    pieces = []
    for i in range(count):
        height = (i + 0.5) / count
        rows = {p.name: height + noise * rng.standard_normal() for p in PARTS}
        pieces.append(GradedPiece(f"p{i}", str(int(height * levels) + 1), made(height, **rows)))
    return pieces


def test_pieces_are_placed_and_ordered() -> None:
    scale = learn_levels(library(60, 3))
    new = library(60, 3, seed=1)
    placed = [scale.place(g.demands) for g in new]
    right = sum(p.level == g.level for p, g in zip(placed, new, strict=True))
    assert right >= 54
    scores = [p.score for p in placed]
    ranks = np.argsort(np.argsort(scores))
    assert np.corrcoef(ranks, np.arange(60))[0, 1] > 0.95


def test_the_interval_holds_what_it_says() -> None:
    scale = learn_levels(library(80, 6, noise=0.5))
    new = library(400, 6, seed=2, noise=0.5)
    inside = 0
    for piece in new:
        placed = scale.place(piece.demands)
        assert placed.low
        assert placed.high
        assert placed.level
        assert int(placed.low) <= int(placed.level) <= int(placed.high)
        inside += int(placed.low) <= int(piece.level) <= int(placed.high)
    assert inside / 400 > 0.75


def test_what_matters_to_this_teacher_is_learned() -> None:
    rng = np.random.default_rng(3)
    pieces = []
    for i in range(120):
        rows = {p.name: float(rng.uniform(0, 1)) for p in PARTS}
        level = int(rows["added_notes"] * 3) + 1
        pieces.append(GradedPiece(f"p{i}", str(level), made(0.5, **rows)))
    scale = learn_levels(pieces)
    at = [p.name for p in PARTS].index("added_notes")
    assert scale.weights[at] == max(scale.weights) > 0.3


def test_with_few_graded_pieces_it_ranks_only() -> None:
    scale = learn_levels(library(FEWEST_GRADED - 1, 3))
    assert scale.ranks_only
    low, high = scale.place(made(0.2)), scale.place(made(0.7))
    assert low.level is low.low is low.high is None
    assert low.score == pytest.approx(20, abs=0.1)
    assert high.score > low.score
    assert len(high.neighbours) == 3
    one = [GradedPiece(str(i), "5", made(i / 20)) for i in range(20)]
    assert learn_levels(one).ranks_only
    assert learn_levels([]).place(made(0.4)).neighbours == ()


@pytest.mark.parametrize("count", [FEWEST_GRADED, 12, 15])
@pytest.mark.parametrize("levels", [2, 3, 8])
def test_about_a_dozen_will_do(count: int, levels: int) -> None:
    scale = learn_levels(library(count, levels, noise=0.05))
    easy, hard = scale.place(made(0.02)), scale.place(made(0.98))
    assert easy.level == scale.order.levels[0]
    assert hard.level == scale.order.levels[-1]


def test_levels_that_say_nothing_do_no_harm() -> None:
    same = [GradedPiece(str(i), "easy" if i % 2 else "hard", made(0.5)) for i in range(20)]
    placed = learn_levels(same).place(made(0.5))
    assert placed.level in {"easy", "hard"}
    assert {placed.low, placed.high} == {"easy", "hard"}


@settings(max_examples=20, deadline=None)
@given(
    st.sampled_from([p.name for p in PARTS]), st.floats(0, 1), st.floats(0, 1), st.integers(0, 5)
)
def test_more_of_a_demand_is_never_easier(name: str, one: float, other: float, seed: int) -> None:
    scale = _scale(seed)
    low, high = sorted((one, other))
    first, second = scale.place(made(0.4, **{name: low})), scale.place(made(0.4, **{name: high}))
    index = scale.order.index
    assert second.score >= first.score
    for a, b in ((first.level, second.level), (first.low, second.low), (first.high, second.high)):
        assert a is not None
        assert b is not None
        assert index(b) >= index(a)


_SCALES: dict[int, object] = {}


def _scale(seed: int):  # type: ignore[no-untyped-def]
    if seed not in _SCALES:
        _SCALES[seed] = learn_levels(library(30, 4, seed, noise=0.3))
    return _SCALES[seed]


def test_the_fit_is_a_minimum_and_nothing_is_negative() -> None:
    pieces = library(50, 4, noise=0.3)
    z = np.array([[p.standing(g.demands.descriptors[p.name]) for p in PARTS] for g in pieces])
    y = [int(g.level) - 1 for g in pieces]
    found = fit(z, y, 4, WEIGHTS, 0.1)
    assert (found.weights >= 0).all()
    assert (np.diff(found.bounds) > 0).all()

    def loss(weights, bounds):  # type: ignore[no-untyped-def]
        chances = type(found)(weights, bounds).chances(z @ weights)
        charge = 0.05 * ((weights**2 / WEIGHTS).sum() - weights.sum() ** 2)
        return -np.log(chances[np.arange(50), y]).sum() + charge + weights.sum() ** 2 / 7200

    best = loss(found.weights, found.bounds)
    rng = np.random.default_rng(0)
    for _ in range(50):
        moved = np.maximum(found.weights + 0.05 * rng.standard_normal(len(WEIGHTS)), 0)
        assert loss(moved, found.bounds + 0.02 * rng.standard_normal(3)) >= best - 1e-4


def test_a_strong_charge_keeps_the_given_weights() -> None:
    pieces = library(50, 3, noise=0.3)
    z = np.array([[p.standing(g.demands.descriptors[p.name]) for p in PARTS] for g in pieces])
    y = [int(g.level) - 1 for g in pieces]
    found = fit(z, y, 3, WEIGHTS, 1e5)
    assert np.allclose(found.weights / found.weights.sum(), WEIGHTS, atol=1e-3)
    assert choose_strength(z, y, 3, WEIGHTS)[1].shape == (50, 3)


def test_the_fit_says_what_it_needs() -> None:
    with pytest.raises(ValueError, match="every level"):
        fit(np.zeros((2, 2)), [0, 2], 3, np.array([0.5, 0.5]), 1.0)
    with pytest.raises(ValueError, match="positive weight"):
        fit(np.zeros((2, 2)), [0, 1], 2, np.array([1.0, 0.0]), 1.0)


def test_intervals() -> None:
    assert interval(np.array([0.05, 0.9, 0.05])) == (1, 1)
    assert interval(np.array([0.2, 0.6, 0.2])) == (0, 2)
    assert interval(np.array([1.0, 0.0, 0.0])) == (0, 0)


def test_reasons_name_what_stands_out() -> None:
    scale = learn_levels(library(40, 4, noise=0.05))
    placed = scale.place(made(0.5, octaves=1.6, altered=1.5, compass=-0.8))
    names = [r.demand for r in placed.reasons]
    assert len(names) == 3
    assert set(names) >= {"octaves", "altered"}
    for reason in placed.reasons:
        text = reason_sentence(reason, "bars 4 and 6")
        assert re.fullmatch(r"[A-Z][^{}]*\.", text)
        assert ("most in bars 4 and 6" in text) == (reason.points > 0)


def test_words() -> None:
    assert figure(0.25) == "0.2"
    assert figure(12.0) == "12"
    assert figure(446.4) == "446"
    assert "9 graded pieces are too few" in ranked_only(9, 10, 3)
    assert "no piece is graded" in ranked_only(0, 10, 0)
    assert "all of one level" in ranked_only(20, 10, 1)


def test_a_graded_piece_is_not_its_own_neighbour() -> None:
    pieces = library(20, 3)
    scale = learn_levels(pieces)
    placed = scale.place(pieces[7].demands, "p7")
    assert "p7" not in {n.id for n in placed.neighbours}
    assert scale.place(pieces[7].demands).neighbours[0].id == "p7"
    assert scale.place(pieces[7].demands).neighbours[0].distance == 0
