"""Students, demands and skills for the tests, by hand and by the thousand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from hypothesis import strategies as st

from passagework.demands.profile import PROFILE_VERSION, Demands, KindDemand
from passagework.hands.hand import Hand, Hands
from passagework.spots.table import all_kinds
from passagework.teaching.skills import Skill
from passagework.teaching.student import (
    AGES,
    FindingHeard,
    Overrule,
    PieceStudied,
    Shown,
    Student,
    TakeHeard,
)

KINDS = tuple(kind.name for kind in all_kinds())
TODAY = date(2026, 3, 2)
"""A Monday."""


def demands(hardest: Mapping[str, float], bars: tuple[int, ...] = (4, 5)) -> Demands:
    """Demands with these hardest values, 0 for every other kind."""
    rows = {
        name: KindDemand(
            name, hardest.get(name, 0.0), hardest.get(name, 0.0) / 2, 0.25, 2.0,
            bars if hardest.get(name, 0.0) else (),
        )
        for name in KINDS
    }  # fmt: skip
    return Demands(PROFILE_VERSION, 20.1, rows, {"bars": 16.0})


def skills(values: Mapping[str, float]) -> dict[str, Skill]:
    """Skills with these values, surely known; nothing known of every other kind."""
    return {
        name: Skill(name, values[name], 1.0) if name in values else Skill(name, None, 0.0)
        for name in KINDS
    }


shares = st.floats(0.0, 1.0).map(lambda x: round(x, 3))
some_kinds = st.dictionaries(st.sampled_from(KINDS), shares, max_size=8)
days = st.integers(TODAY.toordinal() - 900, TODAY.toordinal()).map(date.fromordinal)
bar_rows = st.lists(st.integers(0, 80), max_size=6, unique=True).map(lambda r: tuple(sorted(r)))
names = st.text(st.characters(codec="utf-8", exclude_categories=("C",)), max_size=20)


@st.composite
def pieces_studied(draw: st.DrawFn) -> PieceStudied:
    return PieceStudied(
        draw(st.sampled_from(["p1", "p2", "p3"])),
        draw(names),
        demands(draw(some_kinds)),
        draw(st.sampled_from(["secure", "ok", "shaky", "dropped"])),
        draw(days),
    )


@st.composite
def takes_heard(draw: st.DrawFn) -> TakeHeard:
    played = draw(bar_rows)
    return TakeHeard(
        draw(st.sampled_from(["t1", "t2"])),
        draw(st.sampled_from(["p1", "p2"])),
        draw(names),
        draw(days),
        played,
        played[: len(played) // 2],
        tuple(Shown(kind, value, played[:2]) for kind, value in draw(some_kinds).items()),
        tuple(FindingHeard("hesitation", bar, bar, 0.5, ("leap",)) for bar in played[-1:]),
        draw(st.none() | st.floats(0.3, 1.5)),
    )


@st.composite
def students(draw: st.DrawFn) -> Student:
    return Student(
        name=draw(names),
        age_band=draw(st.sampled_from(sorted(AGES))),
        hands=Hands(Hand(draw(st.floats(14.0, 24.0))), Hand(draw(st.floats(14.0, 24.0)))),
        weekly_minutes=draw(st.integers(0, 900)),
        practice_days=draw(st.frozensets(st.integers(0, 6))),
        lesson_weekday=draw(st.none() | st.integers(0, 6)),
        pieces=tuple(draw(st.lists(pieces_studied(), max_size=4))),
        takes=tuple(draw(st.lists(takes_heard(), max_size=3))),
        overrules=tuple(
            Overrule(kind, value, draw(days), "as I heard it")
            for kind, value in draw(st.dictionaries(st.sampled_from(KINDS), shares, max_size=2)).items()
        ),
    )  # fmt: skip
