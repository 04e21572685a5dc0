"""A student: as little as teaching needs, and what they have studied and played, as facts.

Conventions
-----------
* Days are `datetime.date`; today is always handed in. Weekdays count from 0 (Monday) to 6 (Sunday).
* Minutes are whole. The week's minutes are shared evenly among the practice days, a remainder going to the first ones.
* Of a child no birthday, school or address is kept: an age band says all that the rules ask for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from passagework.demands.profile import Demands
from passagework.hands.hand import Hands

AgeBand = Literal["young-child", "child", "teenager", "adult"]
Register = Literal["child", "teenager", "adult"]
Result = Literal["secure", "ok", "shaky", "dropped"]


@dataclass(frozen=True, slots=True)
class Age:
    """What an age band means for practice."""

    words: str
    register: Register
    """In which of three ways the student is spoken to."""
    shortest_minutes: int
    longest_minutes: int
    """Minutes that one practice of one thing takes at least, and holds the attention at most."""
    new_a_day: int
    """Things begun on one day, at most."""


AGES: Mapping[AgeBand, Age] = {
    "young-child": Age("up to 7 years", "child", 3, 5, 1),
    "child": Age("8 to 11 years", "child", 4, 8, 2),
    "teenager": Age("12 to 17 years", "teenager", 5, 12, 3),
    "adult": Age("18 years and over", "adult", 5, 15, 3),
}
"""Planning values: a seven-year-old has a quarter of an hour in them, in which nothing lasts longer than five minutes. A
teacher changes them for one plan in `passagework.teaching.settings.Settings`."""

MOST_WEEKLY_MINUTES = 7 * 600
"""Ten hours a day: more is a slip of the keyboard."""


@dataclass(frozen=True, slots=True)
class PieceStudied:
    """A piece that the student has worked at, and how it went."""

    piece_id: str
    title: str
    demands: Demands
    result: Result
    """``secure``: plays it and would play it again; ``ok``: got through; ``shaky``: not yet; ``dropped``: given up."""
    when: date
    """When the result was so."""


@dataclass(frozen=True, slots=True)
class Shown:
    """What a take shows to be secure: bars of a kind of difficulty that were played as they should be."""

    kind: str
    value: float
    """How hard they are, on the scale of `KindDemand.hardest`."""
    bars: tuple[int, ...]
    """Bar indices."""


@dataclass(frozen=True, slots=True)
class FindingHeard:
    """What is kept of a finding."""

    kind: str
    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    weight: float
    """How much it matters, 0 to 1."""
    spot_kinds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TakeHeard:
    """What is kept of a take for teaching (`passagework.teaching.heard` makes it)."""

    take_id: str
    piece_id: str
    title: str
    when: date
    played: tuple[int, ...]
    """Indices of the bars that were played, in order."""
    secure: tuple[int, ...]
    """Those of them played with both hands, without a finding and at tempo."""
    shown: tuple[Shown, ...] = ()
    findings: tuple[FindingHeard, ...] = ()
    tempo_share: float | None = None
    """The median tempo against the piece's; None where it cannot be told."""


@dataclass(frozen=True, slots=True)
class Overrule:
    """The teacher's own word on a kind of difficulty; it stands until it is withdrawn."""

    kind: str
    value: float
    """The hardest that the student plays securely, 0 to 1 on the scale of `KindDemand.hardest`."""
    when: date
    why: str = ""

    def __post_init__(self) -> None:
        if not 0.0 <= self.value <= 1.0:
            raise ValueError(f"what is secure lies between 0 and 1, not at {self.value:g}")


@dataclass(frozen=True)
class Student:
    """A student. Raises `ValueError` for minutes or weekdays that do not exist."""

    name: str
    age_band: AgeBand = "adult"
    hands: Hands = field(default_factory=Hands)
    weekly_minutes: int = 0
    practice_days: frozenset[int] = frozenset()
    """Weekdays on which the student practises."""
    lesson_weekday: int | None = None
    pieces: tuple[PieceStudied, ...] = ()
    takes: tuple[TakeHeard, ...] = ()
    overrules: tuple[Overrule, ...] = ()

    def __post_init__(self) -> None:
        if self.age_band not in AGES:
            raise ValueError(f"there is no age band {self.age_band!r}; there are {', '.join(AGES)}")
        if not 0 <= self.weekly_minutes <= MOST_WEEKLY_MINUTES:
            raise ValueError(f"{self.weekly_minutes} minutes a week cannot be practised")
        weekdays = set(range(7))
        if not self.practice_days <= weekdays or self.lesson_weekday not in {None, *weekdays}:
            raise ValueError("weekdays count from 0 (Monday) to 6 (Sunday)")

    @property
    def age(self) -> Age:
        """What the age band means."""
        return AGES[self.age_band]

    @property
    def day_minutes(self) -> tuple[int, ...]:
        """Minutes on each weekday, Monday first; their sum is the week's, or 0 without a practice day."""
        days = sorted(self.practice_days)
        if not days:
            return (0,) * 7
        each, rest = divmod(self.weekly_minutes, len(days))
        return tuple(
            each + (days.index(day) < rest) if day in self.practice_days else 0 for day in range(7)
        )

    @property
    def reach_cm(self) -> float:
        """The smaller of both hands' reaches, for which demands are measured."""
        return min(self.hands.left.reach_cm, self.hands.right.reach_cm)
