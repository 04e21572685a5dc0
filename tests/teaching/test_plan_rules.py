"""What holds for every plan, over thousands of students and pieces made by chance."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.teaching import stored
from passagework.teaching.course import gap_days
from passagework.teaching.items import Item, Limits, items_of
from passagework.teaching.plan import FORMAT, Plan, plan_all, replan
from passagework.teaching.progress import ItemResult, Session
from passagework.teaching.settings import Settings
from tests.teaching.chance import any_skills, any_student, any_work, any_works
from tests.teaching.make import KINDS, TODAY

IN_ONE = 150
SWEEPS = [0, *(pytest.param(n, marks=pytest.mark.nightly) for n in range(1, 20))]
"""A hundred and fifty students every time and three thousand at night: for each a plan, its items with more skill, and
the plan made again after a lesson."""

numbers = st.integers(0, 2**32)


def by_item(sessions: tuple[Session, ...]) -> Mapping[str, list[Session]]:
    rows: dict[str, list[Session]] = defaultdict(list)
    for session in sessions:
        rows[session.item].append(session)
    return rows


def check(plan: Plan, off: frozenset[date] = frozenset()) -> None:
    """The rules that the schedule states."""
    minutes: dict[date, int] = defaultdict(int)
    for session in plan.sessions:
        minutes[session.day] += session.minutes
        assert session.minutes > 0
    for day, total in minutes.items():
        assert total <= plan.day_minutes[day.weekday()]
        assert day >= plan.made
        assert day not in off
        week = sum(minutes.get(day + timedelta(days=n), 0) for n in range(7))
        assert week <= sum(plan.day_minutes)
    assert list(plan.sessions) == sorted(plan.sessions, key=lambda s: s.day)
    items = {i.id: i for i in plan.items}
    for name, rows in by_item(plan.sessions).items():
        assert len({s.day for s in rows}) == len(rows)
        if not name.endswith("/through"):
            check_item(plan, items[name], rows)
    for session in plan.sessions:
        performance = plan.work(session.piece_id).performance
        if performance is not None:
            last_week = performance - timedelta(days=plan.settings.last_week_days)
            assert session.day < performance
            forbidden = "learn" if session.day >= last_week else "through"
            assert session.role != forbidden
    check_order(plan)


def check_item(plan: Plan, item: Item, rows: list[Session]) -> None:
    """Learned first, then reviewed, with the gaps that the rungs ask for."""
    state = plan.states.get(item.id)
    learned, rung, last, begun, urgent = (
        (state.learned, state.rung, state.last, state.begun, state.urgent)
        if state
        else (0, 0, None, None, False)
    )
    work = plan.work(item.piece_id)
    end = work.performance or plan.made + timedelta(days=plan.settings.open_days)
    for session in rows:
        begun = begun or session.day
        assert (session.role == "learn") == (learned < item.learn)
        if last is not None:
            gap = 1
            if session.role != "learn" and not urgent:
                gap = gap_days(rung, (end - begun).days, plan.settings)
            assert (session.day - last).days >= gap
        if session.role == "learn":
            learned += session.minutes
            assert learned <= item.learn
        else:
            rung += 1
            assert session.minutes == item.review
        last, urgent = session.day, False


def check_order(plan: Plan) -> None:
    """Nothing is begun before what it rests on is learned, but for what is left out."""
    left_out = {name for need in plan.needs for name in need.left_out}
    learned = {n: s.learned for n, s in plan.states.items()}
    begun = {n for n, s in plan.states.items() if s.begun is not None}
    items = {i.id: i for i in plan.items}
    done_today: dict[str, date] = {}
    for session in plan.sessions:
        if session.role != "learn":
            continue
        if session.item not in begun:
            begun.add(session.item)
            for before in resting_on(items, session.item, left_out):
                assert learned.get(before, 0) >= items[before].learn
                assert done_today.get(before) != session.day
        learned[session.item] = learned.get(session.item, 0) + session.minutes
        done_today[session.item] = session.day


def resting_on(items: Mapping[str, Item], name: str, left_out: set[str]) -> list[str]:
    """What `name` rests on; of something that is left out, what that rests on."""
    rows: list[str] = []
    for before in items[name].after:
        rows += resting_on(items, before, left_out) if before in left_out else [before]
    return rows


@pytest.mark.parametrize("sweep", SWEEPS)
def test_rules_of_thousands_of_plans(sweep: int) -> None:
    for number in range(sweep * IN_ONE, (sweep + 1) * IN_ONE):
        try:
            one_student(Random(number))
        except AssertionError as error:
            raise AssertionError(f"student {number}: {error}") from error


def one_student(chance: Random) -> None:
    works, student, secure = any_works(chance), any_student(chance), any_skills(chance)
    off = frozenset(
        TODAY + timedelta(days=chance.randrange(60)) for _ in range(chance.randrange(4))
    )
    plan = plan_all(works, student, secure, TODAY, days_off=off)
    check(plan, off)
    for need, work in zip(plan.needs, works, strict=True):
        assert 0 <= need.placed <= need.needed
        if work.performance is None:
            assert need.lacking == 0
        else:
            assert need.lacking == need.needed - need.placed
            assert need.enough is None or need.enough > work.performance
        if need.lacking == 0:
            assert (need.left_out, need.enough) == ((), None)
        assert not any(s.item in need.left_out for s in plan.sessions)
    more_skill(chance, plan, secure)
    made_again(chance, plan, secure)


def more_skill(chance: Random, plan: Plan, secure: dict[str, float]) -> None:
    """More skill never needs more minutes, for any item."""
    better = {k: v + (1 - v) * chance.choice([0, chance.random()]) for k, v in secure.items()}
    limits = Limits(3, chance.randrange(3, 16))
    for work in plan.works:
        before = items_of(work, secure, plan.settings, limits)
        after = items_of(work, better, plan.settings, limits)
        for old, item in zip(before, after, strict=True):
            assert item.id == old.id
            assert item.learn <= old.learn
            assert item.reviews <= old.reviews
            assert item.needed <= old.needed


def made_again(chance: Random, plan: Plan, secure: dict[str, float]) -> None:
    """The rules hold after lessons and takes, with days missed; and what went wrong is next."""
    student = replace(
        any_student(Random(0)),
        weekly_minutes=sum(plan.day_minutes),
        practice_days=frozenset(d for d in range(7) if plan.day_minutes[d]),
    )
    today = TODAY + timedelta(days=chance.randrange(30))
    names = sorted({s.item for s in plan.sessions if s.role != "through"})
    heard = chance.sample(names, min(len(names), 3))
    results = [ItemResult(name, chance.random() < 0.5, today) for name in heard]
    days = sorted({s.day for s in plan.sessions})
    missed = chance.sample(days, min(len(days), chance.randrange(4)))
    again = replan(plan, student, secure, today, results=results, missed=missed)
    check(again)
    assert all(s.day >= today for s in again.sessions)


@settings(max_examples=30, deadline=None)
@given(numbers)
def test_the_same_is_planned_for_the_same(number: int) -> None:
    chance = Random(number)
    works, student, secure = any_works(chance), any_student(chance), any_skills(chance)
    plan = plan_all(works, student, secure, TODAY)
    assert plan == plan_all(works, student, dict(reversed(secure.items())), TODAY)
    text = json.dumps(stored.write(plan, FORMAT))
    assert stored.read(json.loads(text), Plan, FORMAT) == plan


@settings(max_examples=40, deadline=None)
@given(numbers)
def test_the_day_that_would_do_does(number: int) -> None:
    chance = Random(number)
    work, student, secure = any_work(chance, "p"), any_student(chance), any_skills(chance)
    plan = plan_all([work], student, secure, TODAY)
    later = plan.needs[0].enough
    if later is not None:
        assert plan_all([replace(work, performance=later)], student, secure, TODAY).suffices


@settings(max_examples=40, deadline=None)
@given(numbers, st.integers(1, 10), st.floats(0.02, 0.5), st.integers(0, 14), st.integers(1, 30), st.integers(1, 6))  # fmt: skip
def test_rules_hold_for_a_teachers_own_settings(
    number: int, shortest: int, step: float, last: int, longest: int, new: int
) -> None:
    chance = Random(number)
    own = Settings(
        shortest_minutes=shortest, step=step, last_week_days=last, longest_minutes=longest,
        new_a_day=new, gaps=(2, 3, 5),
    )  # fmt: skip
    check(plan_all(any_works(chance), any_student(chance), {}, TODAY, settings=own))


@settings(max_examples=40, deadline=None)
@given(numbers, st.sampled_from(KINDS), st.floats(0, 1), st.floats(0, 1))
def test_one_better_skill_shortens_only_what_rests_on_it(
    number: int, kind: str, one: float, other: float
) -> None:
    chance = Random(number)
    work, student = any_work(chance, "p"), any_student(chance)
    low, high = sorted((one, other))
    before = plan_all([work], student, {kind: low}, TODAY)
    after = plan_all([work], student, {kind: high}, TODAY)
    for item, old in zip(after.items, before.items, strict=True):
        if item.what == "spot" and item.kind != kind:
            assert item == old
        assert item.needed <= old.needed
