"""The search against trying everything, and the terms against numbers worked out by hand."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.analysis.tempo import tempo_map
from passagework.hands.hand import Hand
from passagework.hands.layers import Costs
from passagework.hands.runs import find_runs
from passagework.hands.search import best_path, path_cost, path_terms, sweep
from passagework.hands.slices import hand_slices
from passagework.hands.solve import Demand, Solved, prepare
from passagework.hands.spans import reaches
from passagework.hands.terms import Term, chord_terms, skip_terms, step_terms
from tests.hands.make import line

HAND = Hand()


def prepared(keys: list[int]) -> Solved:
    piece = line(keys)
    slices = hand_slices(
        piece, "right", tempo_map(piece), lambda _: 0.5, lambda k: reaches(k, HAND)
    )
    return prepare(slices, "right", HAND, Demand({}, False), Costs(HAND))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.integers(55, 80), min_size=1, max_size=5))
def test_the_best_path_is_the_best_of_all(keys: list[int]) -> None:
    lattice = prepared(keys).lattice
    path, cost = best_path(lattice)
    everything = product(*(range(len(layer.arrive)) for layer in lattice.layers))
    assert cost == pytest.approx(min(path_cost(lattice, p) for p in everything))
    assert path_cost(lattice, path) == pytest.approx(cost)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(55, 80), min_size=1, max_size=4))
def test_the_sweep_gives_the_best_path_through_every_shape(keys: list[int]) -> None:
    lattice = prepared(keys).lattice
    through = sweep(lattice)
    paths = list(product(*(range(len(layer.arrive)) for layer in lattice.layers)))
    for i, costs in enumerate(through):
        for shape, cost in enumerate(costs):
            best = min(path_cost(lattice, p) for p in paths if p[i] == shape)
            assert cost == pytest.approx(best)


@settings(max_examples=15, deadline=None)
@given(st.lists(st.integers(55, 80), min_size=1, max_size=12))
def test_terms_times_weights_are_the_cost(keys: list[int]) -> None:
    solved = prepared(keys)
    path, cost = best_path(solved.lattice)
    terms = path_terms(solved.lattice, solved.slices, solved.costs, path)
    assert float(solved.costs.weights @ terms) == pytest.approx(cost)


def test_a_thumb_passing_from_e_to_f() -> None:
    cell = step_terms(4, 1)[:, 2, 0]  # third finger on E, thumb on F
    assert cell[Term.PASS] == 1
    assert cell[Term.PASS_ONTO_BLACK] == cell[Term.PASS_FROM_BLACK] == cell[Term.PASS_WIDE] == 0


def test_a_passing_onto_a_black_key_and_behind_one() -> None:
    assert step_terms(4, 2)[Term.PASS_ONTO_BLACK, 2, 0] == 1  # E to F sharp, the thumb on it
    assert step_terms(10, 2)[Term.PASS_FROM_BLACK, 3, 0] == 1  # B flat to C, thumb on C
    # over the thumb and back under it are the same
    assert np.array_equal(step_terms(0, -2)[:, 0, 3], step_terms(10, 2)[:, 3, 0])


def test_the_five_finger_position_is_free_of_shift() -> None:
    cell = step_terms(0, 7)[:, 0, 4]  # C to G with 1 and 5
    assert cell[Term.SHIFT] == pytest.approx(0.0)
    assert cell[Term.STRETCH] == 0


def test_an_octave_with_thumb_and_little_finger() -> None:
    # relaxed up to 10 semitones, comfortable up to 13: an octave is 2 over the first
    assert chord_terms(0, 12)[Term.CHORD_STRETCH, 0, 4] == pytest.approx(2.0)


def test_the_same_key_again() -> None:
    assert step_terms(7, 0)[Term.REPEAT, 1, 1] == 1
    assert step_terms(7, 0)[Term.CHANGE, 2, 1] == 1
    assert skip_terms(7, 0)[Term.SKIP_CHANGE, 2, 1] == 1


def test_runs_are_found_where_keys_come_back_at_the_octave() -> None:
    scale = [60, 62, 64, 65, 67, 69, 71, 72, 74, 76]
    solved = prepared([*scale, *scale[-2::-1], 65, 60])
    runs = find_runs(solved.lattice.layers, solved.slices)
    assert [(r.first, r.last, r.period) for r in runs] == [(0, 9, 7), (9, 18, 7)]
    assert find_runs(prepared([60, 62, 64, 65, 67]).lattice.layers, solved.slices) == []
