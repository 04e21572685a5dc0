"""The week's assignment: the right days, bars, steps and words."""

from __future__ import annotations

import json
import re
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.spots.table import all_kinds
from passagework.teaching import family_words, stored
from passagework.teaching.assignment import FORMAT, Assignment, assignment, week_of
from passagework.teaching.assignment_lines import steps_due
from passagework.teaching.layer_words import WORDS
from passagework.teaching.line_words import together
from passagework.teaching.plan import plan_all, replan
from passagework.teaching.progress import ItemResult, ItemState, Session
from passagework.teaching.settings import LAYERS
from passagework.teaching.student import AGES, AgeBand, Student
from tests.teaching.chance import any_skills, any_student, any_works
from tests.teaching.make import TODAY
from tests.teaching.make_work import day, exercise, piece, spot

ADA = Student(
    "Ada",
    "teenager",
    weekly_minutes=125,
    practice_days=frozenset({1, 2, 4, 5, 6}),
    lesson_weekday=3,
)
SPOTS = (
    spot("s1", (9, 10), 0.8, where="bars 10 and 11", exercises=(exercise("blocks", 9, 10),)),
    spot("s2", (2,), 0.5, "stretch"),
)


@pytest.mark.parametrize(
    ("today", "lesson", "first", "last"),
    [
        (0, 3, 0, 3),  # Monday, lesson on Thursday
        (3, 3, 4, 10),  # on the lesson day for the week after it
        (4, 3, 4, 10),
        (2, None, 2, 8),
    ],
)
def test_the_week(today: int, lesson: int | None, first: int, last: int) -> None:
    assert week_of(day(today), lesson) == (day(first), day(last))


def test_a_week_in_words() -> None:
    plan = plan_all([piece(weeks=8, spots=SPOTS)], ADA, {}, TODAY)
    week = assignment(plan, ADA, day(3), teacher_note=" Sing the tune. ")
    assert (week.first, week.last) == (day(4), day(10))
    assert week.title == "This week: Piece p1"
    assert week.subtitle.startswith("until the lesson on Thursday · ")
    assert week.subtitle.endswith("minutes a day · seven weeks to the performance")
    assert [d.label for d in week.days] == ["Fri", "Sat", "Sun", "Mon", "Tue", "Wed", "Thu"]
    assert (week.days[3].text, week.days[6].text) == ("free", "lesson")
    assert week.teacher_note == "Sing the tune."
    assert week.minutes == sum(s.minutes for s in plan.between(day(4), day(10)))
    assert sum(line.minutes for line in week.lines) == week.minutes
    assert [line.number for line in week.lines] == list(range(1, len(week.lines) + 1))
    assert "doctor" in week.caution
    assert 1 <= len(week.family) <= 2


def test_the_steps_go_on_from_where_the_week_before_ended() -> None:
    row = SPOTS[0]
    item = next(i for i in plan_all([piece(spots=SPOTS)], ADA, {}, TODAY).items if i.of == "s1")

    def due(learned: int, minutes: int) -> tuple[int, list[str]]:
        session = Session(TODAY, item.id, "p1", "learn" if minutes else "review", minutes or 5)
        first, steps = steps_due(row, item, ItemState(item.id, learned=learned), [session])
        return first, [s.title for s in steps]

    quarter = item.learn // 4
    assert due(0, quarter) == (0, ["Step 1"])
    assert due(0, item.learn) == (0, ["Step 1", "Step 2", "Step 3", "Step 4"])
    first, names = due(item.learn - quarter, quarter)
    assert names[-1] == "Step 4"
    assert first >= 2
    assert due(item.learn, 0) == (3, [])


def test_a_spot_names_its_exercise_its_bars_and_its_test() -> None:
    plan = plan_all([piece(spots=SPOTS)], ADA, {}, TODAY)
    line = next(x for x in assignment(plan, ADA, TODAY).lines if x.spot_id == "s1")
    assert line.title == "In blocks (bars 10 and 11)"
    assert (line.technique, line.first_bar, line.last_bar) == ("blocks", 9, 10)
    assert re.fullmatch(r"three times at [1-4]", line.done_when)
    assert line.boxes == len({s.day for s in plan.between(TODAY, day(3)) if s.item == line.item})


def test_what_went_wrong_is_the_first_line() -> None:
    work = piece(weeks=10, spots=SPOTS)
    plan = plan_all([work], ADA, {}, TODAY)
    wrong = ItemResult("p1/spot/s2", False, day(17))
    again = replan(plan, ADA, {}, day(17), results=[wrong])
    line = assignment(again, ADA, day(17)).lines[0]
    assert line.item == "p1/spot/s2"
    assert line.do.startswith("This went wrong last time")


def test_the_last_week_says_play_through_first() -> None:
    plan = plan_all([piece(weeks=3, spots=SPOTS)], ADA, {}, TODAY)
    line = assignment(plan, ADA, day(14)).lines[0]
    assert (line.layer, line.role) == ("through", "through")
    assert (line.first_bar, line.last_bar) == (0, 23)


@pytest.mark.parametrize("band", sorted(AGES))
def test_every_age_is_spoken_to_in_its_own_words(band: AgeBand) -> None:
    register = AGES[band].register
    assert {layer.name for layer in LAYERS} <= set(WORDS[register])
    student = Student("Ada", band, weekly_minutes=90, practice_days=frozenset(range(6)))
    plan = plan_all([piece(spots=SPOTS)], student, {}, TODAY)
    text = json.dumps(stored.write(assignment(plan, student, TODAY), FORMAT))
    assert "!" not in text
    assert "{" not in text.replace('{"', "").replace("{}", "")
    assert WORDS[register]["hands"].do in text


def test_every_kind_and_layer_has_words_for_the_family() -> None:
    assert set(family_words.KINDS) == {kind.name for kind in all_kinds()}
    assert {layer.name for layer in LAYERS} <= set(family_words.LAYERS)


@settings(max_examples=60, deadline=None)
@given(st.integers(0, 2**32), st.integers(0, 40))
def test_rules_of_every_assignment(number: int, ahead: int) -> None:
    """Every minute of the week is in one line and one day; it is stored whole, and says the same again."""
    chance = Random(number)
    student = any_student(chance)
    plan = plan_all(any_works(chance), student, any_skills(chance), TODAY)
    today = TODAY + timedelta(days=ahead)
    week = assignment(plan, student, today)
    planned = sum(s.minutes for s in plan.between(week.first, week.last))
    assert week.minutes == sum(line.minutes for line in week.lines) == planned
    assert len(week.days) == (week.last - week.first).days + 1 <= 7
    for line in week.lines:
        assert 1 <= line.boxes <= 7
        assert line.title
        assert line.done_when
        assert line.first_bar <= line.last_bar
    assert week == assignment(plan, student, today)
    again = stored.read(json.loads(json.dumps(stored.write(week, FORMAT))), Assignment, FORMAT)
    assert again == week


def test_an_empty_week_is_a_week() -> None:
    plan = plan_all([piece()], Student("Ada"), {}, TODAY)
    week = assignment(plan, Student("Ada"), date(2026, 3, 4))
    assert (week.lines, week.minutes, week.family) == ((), 0, ())


@pytest.mark.parametrize(
    ("places", "words"),
    [
        (["bars 1 to 8"], "bars 1 to 8"),
        (["bars 1 to 8", "bars 9 to 16", "bars 20 to 27"], "bars 1 to 8, 9 to 16 and 20 to 27"),
        (
            ["the pickup and bars 1 to 8", "bars 9 to 16"],
            "the pickup and bars 1 to 8 and bars 9 to 16",
        ),
        (["bars 1 to 8", "bar 12", "bars 1 to 8"], "bars 1 to 8 and bar 12"),
        (["bars 1 to 3", "bars 7 and 8"], "bars 1 to 3 and bars 7 and 8"),
    ],
)
def test_places_in_words(places: list[str], words: str) -> None:
    assert together(places) == words
