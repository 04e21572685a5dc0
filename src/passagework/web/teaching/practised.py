"""What was practised since the last lesson, to be said how it went."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from passagework.teaching.progress import ItemResult
from passagework.web.teaching.plan_view import item_words
from passagework.web.teaching.plan_work import read_plan
from passagework.web.words import long_day

if TYPE_CHECKING:
    from passagework.studio.studio import Studio

LONGEST = timedelta(days=14)
"""How far back is asked for: who stays away longer begins with a look at everything."""


@dataclass(frozen=True, slots=True)
class Thing:
    """Something that was practised."""

    id: str
    what: str
    where: str
    piece: str


@dataclass(frozen=True)
class Practised:
    """What was on the plan since the last lesson."""

    things: tuple[Thing, ...]
    days: tuple[tuple[str, str], ...]
    """Days with practice on the plan, as values and words."""


def practised(studio: Studio, student: int, today: date) -> Practised | None:
    """What the plan had between the last lesson and `today`; None without a plan."""
    record = studio.plans.latest(student)
    plan = read_plan(record.body) if record else None
    if plan is None:
        return None
    lessons = studio.lessons.of_student(student, limit=1)
    since = max(lessons[0].on if lessons else plan.made, today - LONGEST, plan.made)
    sessions = plan.between(since, today)
    names = list(dict.fromkeys(s.item for s in sessions))
    things = []
    for name in names:
        item = plan.item(name)
        if item is not None:
            what, where = item_words(plan, item)
            things.append(Thing(name, what, where, plan.work(item.piece_id).title))
    days = sorted({s.day for s in sessions if s.day < today})
    return Practised(tuple(things), tuple((d.isoformat(), long_day(d)) for d in days))


def results_of(items: Sequence[str], went: Sequence[str], on: date) -> tuple[ItemResult, ...]:
    """What was said of each thing, as the plan takes it; what was left open is left out."""
    said = {"well": True, "not": False}
    return tuple(
        ItemResult(name, said[word], on)
        for name, word in zip(items, went, strict=False)
        if word in said
    )


def days_of(values: Sequence[str]) -> tuple[date, ...]:
    """The days that were ticked; what is no day is left out."""
    found = []
    for value in values:
        try:
            found.append(date.fromisoformat(value))
        except ValueError:
            continue
    return tuple(found)
