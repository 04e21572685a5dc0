"""Bars in words."""

from __future__ import annotations

from dataclasses import replace

import pytest

from passagework.score.bar_names import bar_names
from tests.spots.build import piece

PLAIN = piece("R: " + " | ".join(["C5/4"] * 8) + "; L: " + " | ".join(["C3/4"] * 8))


@pytest.mark.parametrize(
    ("indices", "words"),
    [
        ([0], "bar 1"),
        ([0, 1], "bars 1 and 2"),
        ([3, 1, 2], "bars 2 to 4"),
        ([0, 2, 3, 5, 6, 7], "bars 1, 3, 4 and 6 to 8"),
    ],
)
def test_runs_are_gathered(indices: list[int], words: str) -> None:
    assert bar_names(PLAIN, indices) == words


@pytest.mark.parametrize("number", ["0", "", "X1"])
def test_a_pickup_is_called_one(number: str) -> None:
    bars = tuple(
        replace(b, number=number if b.index == 0 else str(b.index), pickup=b.index == 0)
        for b in PLAIN.bars
    )
    upbeat = replace(PLAIN, bars=bars)
    assert bar_names(upbeat, [0]) == "the pickup"
    assert bar_names(upbeat, [0, 1]) == "the pickup and bar 1"
    assert bar_names(upbeat, [0, 1, 2, 3, 5]) == "the pickup and bars 1 to 3 and 5"


def test_a_pickup_with_a_printed_number_keeps_it() -> None:
    bars = (replace(PLAIN.bars[0], pickup=True), *PLAIN.bars[1:])
    assert bar_names(replace(PLAIN, bars=bars), [0, 1]) == "bars 1 and 2"


def test_part_bars_of_files_are_named_by_their_neighbour() -> None:
    bars = tuple(replace(b, number="X1" if b.index == 3 else b.number) for b in PLAIN.bars)
    odd = replace(PLAIN, bars=bars)
    assert bar_names(odd, [3]) == "the unnumbered bar after bar 3"
    assert bar_names(odd, [1, 2, 3]) == "bars 2 and 3"
    assert bar_names(odd, [0, 3]) == "bar 1 and the unnumbered bar after bar 3"
