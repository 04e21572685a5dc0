from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.score.piece import Bar, TimeSignature
from passagework.sound.metre import count_in_bars, entries, pulses

F = Fraction


def bar(
    index: int, onset: Fraction, length: Fraction, time: TimeSignature, *, pickup: bool = False
) -> Bar:
    return Bar(index, str(index), onset, length, time, 0, pickup=pickup)


@pytest.mark.parametrize(
    ("beats", "kind", "expected"),
    [
        ((4,), 4, [("0", 1, 2), ("1", 2, 0), ("2", 3, 0), ("3", 4, 0)]),
        ((2,), 2, [("0", 1, 2), ("2", 2, 0)]),
        ((3,), 8, [("0", 1, 2), ("1/2", 2, 0), ("1", 3, 0)]),
        ((6,), 8, [("0", 1, 2), ("3/2", 2, 0)]),
        ((12,), 8, [("0", 1, 2), ("3/2", 2, 0), ("3", 3, 0), ("9/2", 4, 0)]),
        ((9,), 16, [("0", 1, 2), ("3/4", 2, 0), ("3/2", 3, 0)]),
        ((3, 2), 8, [("0", 1, 2), ("1/2", 2, 0), ("1", 3, 0), ("3/2", 4, 1), ("2", 5, 0)]),
        ((2, 2, 3), 8, [("0", 1, 2), ("1/2", 2, 0), ("1", 3, 1), ("3/2", 4, 0), ("2", 5, 1), ("5/2", 6, 0), ("3", 7, 0)]),
    ],
)  # fmt: skip
def test_beats_and_accents_of_a_full_bar(
    beats: tuple[int, ...], kind: int, expected: list[tuple[str, int, int]]
) -> None:
    time = TimeSignature(beats, kind)
    found = [(str(p.offset), p.count, p.accent) for p in pulses(time, F(0), time.length)]
    assert found == expected


def test_a_pickup_is_the_end_of_a_bar() -> None:
    time = TimeSignature((4,), 4)
    assert [(p.offset, p.count, p.accent) for p in pulses(time, F(3), F(1))] == [(F(0), 4, 0)]
    # an eighth before the one: no beat falls in it
    assert pulses(time, F(7, 2), F(1, 2)) == []
    # three eighths in 6/8: the second dotted beat
    compound = TimeSignature((6,), 8)
    assert [(p.offset, p.count) for p in pulses(compound, F(1), F(2))] == [(F(1, 2), 2)]


def test_entries_of_pickup_and_of_a_bar_split_by_a_repeat() -> None:
    time = TimeSignature((4,), 4)
    lengths = [F(1), F(4), F(3), F(1), F(4), F(3)]
    onset, bars = F(0), []
    for index, length in enumerate(lengths):
        bars.append(bar(index, onset, length, time, pickup=index == 0))
        onset += length
    assert entries(bars, range(6)) == [F(3), F(0), F(0), F(3), F(0), F(0)]
    # back from the last bar to the pickup
    assert entries(bars, [4, 5, 0, 1]) == [F(0), F(0), F(3), F(0)]


def test_a_long_bar_has_one_accent() -> None:
    time = TimeSignature((2,), 4)
    assert [p.accent for p in pulses(time, F(0), F(5))] == [2, 0, 0, 0, 0]


def test_count_in_begins_the_bar_of_the_pickup() -> None:
    time = TimeSignature((3,), 4)
    full = bar(0, F(0), F(3), time)
    short = bar(0, F(0), F(1), time, pickup=True)
    assert count_in_bars(full, 0) == []
    assert count_in_bars(full, 2) == [(F(3), F(0)), (F(3), F(0))]
    assert count_in_bars(short, 1) == [(F(3), F(0)), (F(2), F(0))]


@given(
    st.lists(st.integers(1, 5), min_size=1, max_size=4),
    st.sampled_from([2, 4, 8, 16]),
)
def test_beats_fill_every_bar_evenly(beats: list[int], kind: int) -> None:
    time = TimeSignature(tuple(beats), kind)
    found = pulses(time, F(0), time.length)
    assert found[0].offset == 0
    assert found[0].accent == 2
    assert sum(p.accent == 2 for p in found) == 1
    assert sum(p.accent == 1 for p in found) == (len(beats) - 1)
    assert all(b.offset - a.offset == time.beat for a, b in pairwise(found))
    assert len(found) * time.beat == time.length
