"""Students and pieces by the thousand, from one number each: quicker than drawing every value."""

from __future__ import annotations

from datetime import timedelta
from random import Random

from passagework.teaching.student import AGES, AgeBand, Student
from passagework.teaching.work import Asked, PieceWork, PlanSection, PlanSpot
from tests.teaching.make import KINDS, TODAY
from tests.teaching.make_work import exercise


def any_student(chance: Random) -> Student:
    """A student as far as a plan looks at them."""
    bands: list[AgeBand] = sorted(AGES)
    return Student(
        "Ada",
        chance.choice(bands),
        weekly_minutes=chance.choice([*[chance.randrange(100, 900)] * 6, chance.randrange(100), 0]),
        practice_days=frozenset(chance.sample(range(7), chance.randrange(1, 8))),
        lesson_weekday=chance.choice([None, 3]),
    )


def any_skills(chance: Random) -> dict[str, float]:
    return {kind: round(chance.random(), 3) for kind in KINDS if chance.random() < 0.7}


def any_spot(chance: Random, name: str, bars: int) -> PlanSpot:
    first = chance.randrange(bars)
    severity = round(chance.random(), 3)
    row = tuple(range(first, min(first + chance.randrange(1, 4), bars)))
    return PlanSpot(
        name, chance.choice(KINDS), "A place", "here", row, severity,
        severity + chance.random() * 0.16, round(chance.random(), 3), 0.5 + 8 * chance.random(),
        chance.randrange(1, 9),
        exercises=(exercise("blocks", first, first, chance.randrange(1, 8)),)[: chance.randrange(2)],
    )  # fmt: skip


def any_work(chance: Random, name: str) -> PieceWork:
    sections: list[PlanSection] = []
    bar = 0
    for _ in range(chance.randrange(1, 4)):
        last = bar + chance.randrange(12)
        seconds, likeness = 1 + 25 * chance.random(), chance.choice([0.0, chance.random(), 1.0])
        sections.append(PlanSection("A", "here", bar, last, seconds, likeness))
        bar = last + 1
    spots = tuple(any_spot(chance, f"s{n}", bar) for n in range(chance.randrange(5)))
    asked = {kind: Asked(chance.random(), chance.random()) for kind in chance.sample(KINDS, 5)}
    when = chance.choice([None, TODAY + timedelta(days=chance.randrange(-3, 60))])
    total = sum(s.seconds for s in sections)
    return PieceWork(
        name, name.title(), total, tuple(sections), spots, asked, when, chance.random() < 0.7
    )


def any_works(chance: Random) -> list[PieceWork]:
    return [any_work(chance, f"p{n}") for n in range(chance.choice([1, 1, 1, 2, 3]))]
