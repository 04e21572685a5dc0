"""Stepping stones: every way is possible, none is shorter, and of the short ones none asks less at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.demands.profile import PROFILE_VERSION, Demands, KindDemand
from passagework.demands.scale import PARTS
from passagework.demands.stone_search import Array, search
from passagework.demands.stones import (
    LibraryPiece,
    alike,
    missing_demands,
    stepping_stones,
    teaches,
)

STEP = 0.2
LONGEST = 5


def asking(**kinds: float) -> Demands:
    rows = {k: KindDemand(k, v, v / 2, 0.25, 1.0, (2, 7) if v else ()) for k, v in kinds.items()}
    return Demands(PROFILE_VERSION, 20.1, rows, {p.name: p.value_at(0.3) for p in PARTS})


def every_way(pieces: Array, needed: Array, state: Array, path: tuple[int, ...] = ()):  # type: ignore[no-untyped-def]
    """Every way to what is needed, by trying everything: (pieces, newness squared and summed)."""
    if (state >= needed - 1e-9).all():
        yield len(path), 0.0
        return
    if len(path) == LONGEST:
        return
    for i, row in enumerate(pieces):
        if i not in path and (row <= state + STEP + 1e-9).all():
            after = np.maximum(row, state)
            for length, new in every_way(pieces, needed, after, (*path, i)):
                yield length, new + float((after - state).sum()) ** 2


@settings(max_examples=150, deadline=None)
@given(st.integers(1, 3), st.integers(1, 7), st.integers(0, 2**32 - 1))
def test_against_trying_everything(kinds: int, count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    pieces = rng.uniform(0, 0.8, (count, kinds)).round(2)
    goal, secure = rng.uniform(0.1, 0.9, kinds), rng.uniform(0, 0.3, kinds)
    found = search(pieces, goal, secure, STEP)
    state, new = secure, 0.0
    for i in found.order:
        assert (pieces[i] <= state + STEP + 1e-9).all()
        after = np.maximum(pieces[i], state)
        new += float((after - state).sum()) ** 2
        state = after
    ways = sorted(every_way(pieces, goal - STEP, secure))
    if ways:
        assert found.reached
        assert len(found.order) == found.fewest == ways[0][0]
        assert new == pytest.approx(ways[0][1], abs=1e-9)
        assert found.least_new
    elif found.reached:
        assert len(found.order) > LONGEST
    else:
        assert found.fewest == 0
        assert (state < goal - STEP).any()


LIBRARY = [
    LibraryPiece("a", "First octaves", asking(octaves=0.2, leap=0.3)),
    LibraryPiece("b", "More octaves", asking(octaves=0.4, leap=0.3)),
    LibraryPiece("c", "Everything at once", asking(octaves=0.6, leap=0.8)),
    LibraryPiece("d", "Leaps", asking(octaves=0.1, leap=0.5)),
]


def test_a_way_with_its_reasons() -> None:
    goal = asking(octaves=0.55, leap=0.4)
    path = stepping_stones(goal, {"leap": 0.3}, LIBRARY, STEP)
    assert [m.kind for m in path.missing] == ["octaves"]
    assert [s.id for s in path.stones] == ["a", "b"]
    assert path.reaches
    assert path.fewest == 2
    assert path.gap == 0
    assert path.least_new
    first = path.stones[0].brings[0]
    assert (first.kind, first.before, first.after, first.bars) == ("octaves", 0.0, 0.2, (2, 7))
    assert first.wanted
    assert path.stones[0].new == pytest.approx(0.2)


def test_nothing_is_missing_and_nothing_leads_there() -> None:
    near = stepping_stones(asking(octaves=0.3), {"octaves": 0.2}, LIBRARY, STEP)
    assert near.stones == ()
    assert near.reaches
    far = stepping_stones(asking(octaves=0.9, leap=0.4), {"leap": 0.3}, LIBRARY[:2], STEP)
    assert [s.id for s in far.stones] == ["a", "b"]
    assert not far.reaches
    assert [(m.kind, m.secure) for m in far.left] == [("octaves", 0.4)]
    assert stepping_stones(asking(octaves=0.9), {}, [], STEP).left[0].kind == "octaves"


def test_a_kind_that_was_not_measured_is_said() -> None:
    path = stepping_stones(asking(octaves=0.5, harmony=0.9), {"leap": 0.3}, LIBRARY, STEP)
    assert path.unmeasured == ("harmony",)
    assert "harmony" not in {m.kind for m in path.left}


def test_a_step_must_lead_somewhere() -> None:
    with pytest.raises(ValueError, match="more than 0"):
        stepping_stones(asking(octaves=0.5), {}, LIBRARY, 0.0)


def test_a_large_library_is_searched_in_bounded_time() -> None:
    rng = np.random.default_rng(4)
    level = rng.random(3000)
    pieces = np.clip(level[:, None] * rng.uniform(0.3, 1.2, (3000, 20)), 0, 1)
    found = search(pieces, np.full(20, 0.62), np.full(20, 0.4), 0.12)
    state = np.full(20, 0.4)
    for i in found.order:
        assert (pieces[i] <= state + 0.12 + 1e-9).all()
        state = np.maximum(state, pieces[i])
    assert found.reached
    assert (state >= 0.5 - 1e-9).all()
    assert 0 < found.fewest <= len(found.order)


def test_missing_is_what_is_more_than_a_step_away() -> None:
    rows = missing_demands(asking(octaves=0.5, leap=0.4, words=0.1), {"leap": 0.25}, STEP)
    assert [(m.kind, m.secure, m.asked) for m in rows] == [("octaves", 0.0, 0.5)]


def test_more_like_this() -> None:
    rows = alike(asking(octaves=0.4, leap=0.3), LIBRARY, most=2)
    assert [r.id for r in rows] == ["b", "a"]
    assert rows[0].distance == 0
    assert rows[0].shared == ("octaves", "leap")


def test_what_it_teaches() -> None:
    rows = {
        "octaves": KindDemand("octaves", 0.8, 0.8, 0.01, 1, (3,)),
        "leap": KindDemand("leap", 0.5, 0.5, 0.81, 9, (1,)),
        "words": KindDemand("words", 0.1, 0.1, 1.0, 9, (1,)),
    }
    found = teaches(Demands(PROFILE_VERSION, 20.1, rows, {}))
    assert [(t.kind, t.worth) for t in found] == [("leap", 0.45), ("octaves", 0.08)]
