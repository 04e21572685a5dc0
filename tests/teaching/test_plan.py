"""Plans worked through by hand: what comes first, what comes back when, and what is said when time is short."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import pairwise

import pytest

from passagework.teaching.course import gap_days, through_minutes
from passagework.teaching.plan import Plan, plan_all, replan
from passagework.teaching.progress import ItemResult, ItemState, Session, advance, went
from passagework.teaching.settings import Settings
from passagework.teaching.student import Student
from tests.teaching.make import TODAY
from tests.teaching.make_work import day, piece, spot

EVERY_DAY = frozenset(range(7))
ADA = Student("Ada", "teenager", weekly_minutes=210, practice_days=EVERY_DAY)


def days_of(plan: Plan, item: str) -> list[int]:
    return [(s.day - plan.made).days for s in plan.sessions if s.item == item]


@pytest.mark.parametrize(
    ("rung", "kept", "gap"),
    [(0, 100, 1), (1, 100, 2), (2, 100, 4), (3, 100, 7), (9, 1000, 30), (3, 20, 4), (3, 3, 1)],
)
def test_gaps_grow_up_to_a_fifth_of_the_time_that_is_left(rung: int, kept: int, gap: int) -> None:
    assert gap_days(rung, kept, Settings()) == gap


def test_a_spot_comes_back_after_1_2_4_and_7_days() -> None:
    work = piece(weeks=12, sections=1, spots=(spot("s", (1,), 0.5, seconds=2.0),))
    student = replace(ADA, weekly_minutes=420)
    plan = plan_all([work], student, {"leap": 0.5}, TODAY)
    assert days_of(plan, "p1/spot/s")[:5] == [0, 1, 3, 7, 14]


def test_the_hardest_and_most_recurrent_comes_first() -> None:
    spots = (
        spot("mild", (1,), 0.4), spot("hard", (2,), 0.8), spot("back", (3,), 0.7, importance=0.86),
    )  # fmt: skip
    plan = plan_all([piece(spots=spots)], ADA, {}, TODAY)
    begun = {s.item: s.day for s in reversed(plan.sessions)}
    order = sorted(("mild", "hard", "back"), key=lambda n: begun[f"p1/spot/{n}"])
    assert order == ["back", "hard", "mild"]


def test_the_last_week_is_for_playing_through() -> None:
    plan = plan_all([piece(weeks=4)], ADA, {}, TODAY)
    last = [s for s in plan.sessions if s.day >= day(21)]
    through = [s for s in last if s.role == "through"]
    assert [(s.day - TODAY).days for s in through] == list(range(21, 28))
    assert {s.role for s in last} <= {"through", "review", "keep"}
    assert {s.minutes for s in through} == {through_minutes(60.0)} == {2}


def test_two_pieces_share_the_minutes_and_no_two_of_a_kind_stand_side_by_side() -> None:
    one, two = piece("p1", 8), replace(piece("p2", 8), piece_id="p2")
    plan = plan_all([one, two], ADA, {}, TODAY)
    first_week = plan.between(TODAY, day(6))
    minutes = {n: sum(s.minutes for s in first_week if s.piece_id == n) for n in ("p1", "p2")}
    assert abs(minutes["p1"] - minutes["p2"]) <= 30
    both = [d for d in range(7) if {s.piece_id for s in plan.on(day(d))} == {"p1", "p2"}]
    assert len(both) >= 5
    for number in both:
        rows = plan.on(day(number))
        alternates = sum(a.piece_id != b.piece_id for a, b in pairwise(rows))
        assert alternates >= 1


def test_when_time_is_short_it_says_what_lacks_what_goes_and_when_it_would_do() -> None:
    spots = (spot("hard", (9,), 0.8, seconds=10.0), spot("mild", (2,), 0.25, "stretch"))
    work = piece(weeks=4, seconds=60.0, spots=spots)
    plan = plan_all([work], replace(ADA, weekly_minutes=105), {}, TODAY)
    need = plan.needs[0]
    assert not plan.suffices
    assert need.lacking == need.needed - need.placed > 0
    assert "p1/spot/mild" in need.left_out
    assert not any("/hands" in n or "/together" in n for n in need.left_out)
    assert need.enough is not None
    assert need.enough > day(28)
    assert plan_all([replace(work, performance=need.enough)], replace(ADA, weekly_minutes=105), {}, TODAY).suffices  # fmt: skip
    assert plan_all([work], replace(ADA, weekly_minutes=900), {}, TODAY).suffices


def test_without_minutes_there_is_no_plan_and_no_day_that_would_do() -> None:
    for student in (replace(ADA, weekly_minutes=0), replace(ADA, practice_days=frozenset())):
        plan = plan_all([piece()], student, {}, TODAY)
        assert plan.sessions == ()
        assert plan.needs[0].lacking == plan.needs[0].needed > 0
        assert plan.needs[0].enough is None


def test_a_performance_that_is_past_or_today_plans_nothing() -> None:
    for ahead in (0, -5):
        work = replace(piece(), performance=day(ahead))
        assert plan_all([work], ADA, {}, TODAY).sessions == ()


def test_a_piece_without_a_date_is_planned_ahead_and_never_short() -> None:
    plan = plan_all([piece(weeks=None)], replace(ADA, weekly_minutes=20), {}, TODAY)
    assert plan.suffices
    assert plan.needs[0].placed < plan.needs[0].needed
    assert max(s.day for s in plan.sessions) < day(56)
    assert not any(s.role == "through" for s in plan.sessions)


def test_days_off_and_days_missed() -> None:
    off = day(1)
    plan = plan_all([piece()], ADA, {}, TODAY, days_off=[off])
    assert not plan.on(off)
    all_done = replan(plan, ADA, {}, day(3))
    missed = replan(plan, ADA, {}, day(3), missed=[day(0), day(2)])
    assert all_done.needs[0].needed < missed.needs[0].needed == plan.needs[0].needed


def test_more_than_it_was_told_is_not_made_up() -> None:
    with pytest.raises(ValueError, match="twice"):
        plan_all([piece(), piece()], ADA, {}, TODAY)
    with pytest.raises(KeyError):
        plan_all([piece()], ADA, {}, TODAY).work("other")


def test_what_went_well_climbs_and_what_went_wrong_starts_again() -> None:
    item = next(i for i in plan_all([piece()], ADA, {}, TODAY).items if i.what == "spot")
    fresh = ItemState(item.id, learned=item.learn, rung=3, reviewed=2, begun=TODAY, last=day(9))
    well = went(fresh, item, True, day(10))
    assert (well.rung, well.reviewed, well.last, well.urgent) == (4, 3, day(10), False)
    wrong = went(fresh, item, False, day(10))
    assert (wrong.rung, wrong.again, wrong.urgent, wrong.last) == (0, 1, True, day(9))
    again = wrong
    for _ in range(3):
        again = went(again, item, False, day(10))
    assert again.learned < item.learn
    untouched = went(ItemState(item.id), item, False, day(10))
    assert (untouched.begun, untouched.urgent) == (None, True)
    known = went(ItemState(item.id), item, True, day(10))
    assert (known.learned, known.reviewed, known.begun) == (item.learn, 1, day(10))


def test_practice_before_today_counts_unless_it_was_missed() -> None:
    rows = [
        Session(day(0), "a", "p", "learn", 5),
        Session(day(1), "a", "p", "learn", 4),
        Session(day(2), "a", "p", "review", 3),
        Session(day(3), "a", "p", "review", 3),
        Session(day(2), "p/through", "p", "through", 3),
    ]
    state = advance({}, rows, day(3))["a"]
    assert (state.learned, state.reviewed, state.rung, state.begun, state.last) == (9, 1, 1, day(0), day(2))  # fmt: skip
    assert set(advance({}, rows, day(3))) == {"a"}
    assert advance({}, rows, day(3), [day(1)])["a"].learned == 5


def test_what_was_played_well_is_not_learned_again() -> None:
    plan = plan_all([piece()], ADA, {}, TODAY)
    well = ItemResult("p1/spot/s1", True, TODAY)
    again = replan(plan, ADA, {}, TODAY, results=[well, ItemResult("gone", False, TODAY)])
    rows = [s for s in again.sessions if s.item == "p1/spot/s1"]
    assert {s.role for s in rows} <= {"review", "keep"}
    assert rows[0].day > TODAY + timedelta(days=1)


def test_the_middle_of_learning_can_be_set_by_the_teacher() -> None:
    long = plan_all([piece()], ADA, {}, TODAY, settings=Settings(longest_minutes=20))
    short = plan_all([piece()], ADA, {}, TODAY, settings=Settings(longest_minutes=6))
    assert max(s.minutes for s in long.sessions) > max(s.minutes for s in short.sessions) == 6
