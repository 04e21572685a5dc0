"""Pieces to be learned, for the plans of the tests."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import strategies as st

from passagework.teaching.student import AGES, Student
from passagework.teaching.work import (
    Asked,
    PieceWork,
    PlanExercise,
    PlanSection,
    PlanSpot,
    PlanStep,
)
from tests.teaching.make import KINDS, TODAY, shares, some_kinds


def exercise(technique: str, first: int, last: int, steps: int = 4) -> PlanExercise:
    return PlanExercise(
        technique, "In blocks", "what is one grip is learned as one", first, last,
        tuple(
            PlanStep(f"Step {n}", f"Play it the {n}. way.", f"three times at {n}", "crotchet = 60")
            for n in range(1, steps + 1)
        ),
    )  # fmt: skip


def spot(
    name: str, bars: tuple[int, ...], severity: float, kind: str = "leap", **more: object
) -> PlanSpot:
    values: dict[str, object] = {
        "id": name, "kind": kind, "title": "A leap", "where": f"bar {bars[0] + 1}", "bars": bars,
        "severity": severity, "importance": severity, "demand": severity, "seconds": 4.0,
    }  # fmt: skip
    return PlanSpot(**(values | more))  # type: ignore[arg-type]


def piece(
    name: str = "p1",
    weeks: int | None = 8,
    spots: tuple[PlanSpot, ...] | None = None,
    sections: int = 3,
    seconds: float = 20.0,
    by_heart: bool = True,
) -> PieceWork:
    rows = tuple(
        PlanSection("ABC"[i % 3], f"bars {8 * i + 1} to {8 * i + 8}", 8 * i, 8 * i + 7, seconds)
        for i in range(sections)
    )
    if spots is None:
        spots = (spot("s1", (9, 10), 0.8), spot("s2", (2,), 0.5, "stretch"))
    return PieceWork(
        name, f"Piece {name}", seconds * sections, rows, spots,
        {"leap": Asked(0.6, 0.3), "stretch": Asked(0.4, 0.2)},
        None if weeks is None else TODAY + timedelta(weeks=weeks),
        by_heart,
    )  # fmt: skip


@st.composite
def works(draw: st.DrawFn, name: str = "p1") -> PieceWork:
    sections: list[PlanSection] = []
    bar = 0
    for _ in range(draw(st.integers(1, 4))):
        length = draw(st.integers(1, 12))
        sections.append(
            PlanSection(
                "A", "here", bar, bar + length - 1, draw(st.floats(1.0, 60.0)), draw(shares)
            )
        )
        bar += length
    spots = []
    for n in range(draw(st.integers(0, 5))):
        bars = tuple(
            sorted(draw(st.sets(st.integers(0, bar - 1), min_size=1, max_size=min(bar, 4))))
        )
        severity = draw(shares)
        spots.append(
            PlanSpot(
                f"s{n}", draw(st.sampled_from(KINDS)), "A place", "here", bars, severity,
                min(severity + draw(st.floats(0, 0.16)), 1.16), draw(shares), draw(st.floats(0.5, 20.0)),
                draw(st.integers(1, 9)),
                exercises=tuple(exercise("blocks", bars[0], bars[0], draw(st.integers(1, 8))) for _ in range(draw(st.integers(0, 1)))),
            )
        )  # fmt: skip
    asked = {kind: Asked(value, draw(shares)) for kind, value in draw(some_kinds).items()}
    when = draw(st.none() | st.integers(-3, 90).map(lambda d: TODAY + timedelta(days=d)))
    return PieceWork(
        name, name.title(), sum(s.seconds for s in sections), tuple(sections), tuple(spots), asked,
        when, draw(st.booleans()),
    )  # fmt: skip


@st.composite
def learners(draw: st.DrawFn) -> Student:
    """Students as far as a plan looks at them."""
    return Student(
        "Ada",
        draw(st.sampled_from(sorted(AGES))),
        weekly_minutes=draw(st.integers(0, 400)),
        practice_days=draw(st.frozensets(st.integers(0, 6), min_size=1)),
        lesson_weekday=draw(st.none() | st.integers(0, 6)),
    )


def day(number: int) -> date:
    return TODAY + timedelta(days=number)
