"""Damaged scores: refused in one line, or read with every promise kept."""

from __future__ import annotations

import random

import pytest

from tests.conftest import DEMO
from tests.score.mutate import mutate
from tests.score.promises import check_reading, read_or_refuse
from tests.score.small import SMALL_SCORES

SCORES = 500
"""Damaged scores to each seed; there are four seeds."""


@pytest.mark.parametrize("seed", range(4))
def test_damaged_scores_are_read_or_refused(seed: int) -> None:
    random_ = random.Random(seed)
    sources = [score.encode() for score in SMALL_SCORES.values()]
    read = sum(
        read_or_refuse(mutate(random_.choice(sources), random_)) is not None for _ in range(SCORES)
    )
    assert SCORES // 4 < read < SCORES, "the damage is either none or too much to test anything"


@pytest.mark.parametrize("name", sorted(SMALL_SCORES))
def test_undamaged_scores_keep_their_promises(name: str) -> None:
    reading = read_or_refuse(SMALL_SCORES[name].encode())
    assert reading is not None
    assert reading.piece.notes


@pytest.mark.nightly
@pytest.mark.parametrize("seed", range(100, 120))
def test_damaged_demo_pieces(seed: int) -> None:
    random_ = random.Random(seed)
    sources = [path.read_bytes() for path in sorted(DEMO.glob("*.musicxml"))]
    for _ in range(50):
        read_or_refuse(mutate(random_.choice(sources), random_))


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_demo_pieces_keep_their_promises(name: str) -> None:
    reading = read_or_refuse((DEMO / f"{name}.musicxml").read_bytes())
    assert reading is not None
    check_reading(reading)
