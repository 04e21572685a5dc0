"""Readiness: three verdicts by hand, and what holds for every student and piece."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.teaching.readiness import kind_verdict, readiness
from passagework.teaching.settings import Settings
from tests.teaching.make import KINDS, demands, shares, skills, some_kinds

GOOD = {"secure": 0, "step up": 1, "too far": 2}


@pytest.mark.parametrize(
    ("demand", "secure", "verdict"),
    [
        (0.5, 0.5, "secure"),
        (0.5, 0.7, "secure"),
        (0.6, 0.5, "step up"),
        (0.62, 0.5, "step up"),
        (0.63, 0.5, "too far"),
        (0.1, None, "step up"),
        (0.4, None, "not known"),
    ],
)
def test_one_kind(demand: float, secure: float | None, verdict: str) -> None:
    assert kind_verdict(demand, secure, 0.12) == verdict


def test_what_decides_comes_first_with_its_bars_and_its_cure() -> None:
    asked = demands({"leap": 0.9, "stretch": 0.55, "octaves": 0.5}, (7, 3))
    result = readiness(asked, skills({"leap": 0.2, "stretch": 0.5, "octaves": 0.5}))
    assert result.verdict == "too far"
    assert [(k.kind, k.verdict) for k in result.kinds] == [
        ("leap", "too far"), ("stretch", "step up"), ("octaves", "secure"),
    ]  # fmt: skip
    leap = result.in_place_first[0]
    assert (leap.bars, leap.steps) == ((7, 3), pytest.approx(0.7 / 0.12))
    assert [c.technique for c in leap.first][:2] == ["landing", "shrinking-stop"]
    assert [k.kind for k in result.in_place_first] == ["leap", "stretch"]
    assert result.words == "Too far for now: leaps. A step up: wide stretches."


def test_one_kind_a_little_too_far_can_be_prepared_and_two_cannot() -> None:
    asked = {"leap": 0.7, "stretch": 0.3}
    assert readiness(demands(asked), skills({"leap": 0.5, "stretch": 0.3})).verdict == "step up"
    assert readiness(demands(asked), skills({"leap": 0.5, "stretch": 0.1})).verdict == "too far"


def test_of_a_student_unheard_nothing_is_made_up() -> None:
    result = readiness(demands({"leap": 0.7, "stretch": 0.5}), skills({}))
    assert result.verdict == "not known"
    assert {k.verdict for k in result.kinds} == {"not known"}
    assert all(k.steps is None and k.secure is None for k in result.kinds)


def test_a_piece_without_difficulties() -> None:
    assert readiness(demands({}), skills({})).verdict == "secure"


def test_the_teachers_step_is_used() -> None:
    asked, can = demands({"leap": 0.7}), skills({"leap": 0.5})
    assert readiness(asked, can, Settings(step=0.3)).verdict == "step up"
    assert readiness(asked, can, Settings(step=0.05)).verdict == "too far"


known = st.fixed_dictionaries(dict.fromkeys(KINDS, shares))


@given(some_kinds, known, st.dictionaries(st.sampled_from(KINDS), shares))
def test_more_skill_is_never_less_ready(
    asked: dict[str, float], can: dict[str, float], more: dict[str, float]
) -> None:
    better = {k: max(v, more.get(k, 0.0)) for k, v in can.items()}
    before = readiness(demands(asked), skills(can))
    after = readiness(demands(asked), skills(better))
    assert GOOD[after.verdict] <= GOOD[before.verdict]
    old = {k.kind: k.verdict for k in before.kinds}
    assert all(GOOD[k.verdict] <= GOOD[old[k.kind]] for k in after.kinds)


@given(some_kinds, some_kinds, st.dictionaries(st.sampled_from(KINDS), shares))
def test_more_demands_are_never_easier(
    asked: dict[str, float], can: dict[str, float], more: dict[str, float]
) -> None:
    harder = {k: max(asked.get(k, 0.0), more.get(k, 0.0)) for k in {*asked, *more}}
    before = {k.kind: k for k in readiness(demands(asked), skills(can)).kinds}
    after = readiness(demands(harder), skills(can))
    for row in after.kinds:
        if row.kind in before and row.secure is not None:
            assert GOOD[row.verdict] >= GOOD[before[row.kind].verdict]


@given(some_kinds, some_kinds)
def test_every_kind_that_is_asked_is_judged_once(
    asked: dict[str, float], can: dict[str, float]
) -> None:
    result = readiness(demands(asked), skills(can))
    assert sorted(k.kind for k in result.kinds) == sorted(k for k, v in asked.items() if v > 0)
    assert all(k.first for k in result.in_place_first)
    assert {k.kind for k in result.in_place_first} == {
        k.kind for k in result.kinds if k.verdict != "secure"
    }
    assert result.words
