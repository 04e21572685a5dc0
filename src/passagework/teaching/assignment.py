"""The week's assignment: what, which bars, which steps, how many minutes, done when; in words for the student's age.

It is made from the plan, from the day after one lesson to the next one, and holds all that the printed page says, the most
important first, so that a page can leave out from the end what does not fit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from passagework.spots.words_of import counted, listed, number
from passagework.teaching import family_words
from passagework.teaching.assignment_lines import Line, lines_of
from passagework.teaching.layer_words import CAUTION
from passagework.teaching.line_words import WEEKDAYS
from passagework.teaching.plan import Plan
from passagework.teaching.progress import Session, advance
from passagework.teaching.student import Register, Student

FORMAT = "passagework.assignment/1"

FAMILY_LINES = 2
"""Things to listen for at home: more are not remembered."""

PLEASURE: Mapping[Register, str] = {
    "child": "Then play something that you like, just for fun.",
    "teenager": "Then play something that you can, for pleasure.",
    "adult": "Then play something that you know well, for pleasure.",
}


@dataclass(frozen=True, slots=True)
class DayBox:
    """One day of the week."""

    day: date
    label: str
    """``"Fri"``."""
    minutes: int
    lesson: bool

    @property
    def text(self) -> str:
        """``"25"``, ``"free"``, ``"lesson"``, ``"10, lesson"``."""
        if self.lesson:
            return f"{self.minutes}, lesson" if self.minutes else "lesson"
        return str(self.minutes) if self.minutes else "free"


@dataclass(frozen=True)
class Assignment:
    """One week, on one page."""

    student: str
    register: Register
    title: str
    subtitle: str
    first: date
    last: date
    """First and last day, both included; the last is that of the lesson where one is set."""
    days: tuple[DayBox, ...]
    lines: tuple[Line, ...]
    """What to practise, the most important first, numbered from 1."""
    pleasure: str
    teacher_note: str
    """The teacher's own words; empty for none."""
    family: tuple[str, ...]
    """What to listen for at home."""
    caution: str

    @property
    def minutes(self) -> int:
        """Minutes of the week in all."""
        return sum(day.minutes for day in self.days)


def assignment(plan: Plan, student: Student, today: date, *, teacher_note: str = "") -> Assignment:
    """The assignment of `student` from `today` to the next lesson, or for a week where no lesson day is set.

    On a lesson day it begins on the day after: what is planned for the day itself belonged to the week before.
    """
    first, last = week_of(today, student.lesson_weekday)
    sessions = plan.between(first, last)
    states = advance(plan.states, plan.sessions, first)
    lines = lines_of(plan, states, sessions, student.age.register)
    return Assignment(
        student.name,
        student.age.register,
        _title(plan, sessions),
        _subtitle(plan, sessions, first, last, student.lesson_weekday),
        first,
        last,
        _days(sessions, first, last, student.lesson_weekday),
        lines,
        PLEASURE[student.age.register],
        teacher_note.strip(),
        _family(lines),
        CAUTION[student.age.register],
    )


def week_of(today: date, lesson_weekday: int | None) -> tuple[date, date]:
    """First and last day of the week that is assigned on `today`."""
    if lesson_weekday is None:
        return today, today + timedelta(days=6)
    first = today + timedelta(days=1) if today.weekday() == lesson_weekday else today
    return first, first + timedelta(days=(lesson_weekday - first.weekday()) % 7)


def _days(
    sessions: Sequence[Session], first: date, last: date, lesson: int | None
) -> tuple[DayBox, ...]:
    rows = []
    for n in range((last - first).days + 1):
        day = first + timedelta(days=n)
        minutes = sum(s.minutes for s in sessions if s.day == day)
        rows.append(
            DayBox(day, WEEKDAYS[day.weekday()][:3], minutes, day == last and lesson is not None)
        )
    return tuple(rows)


def _title(plan: Plan, sessions: Iterable[Session]) -> str:
    names = {s.piece_id for s in sessions}
    titles = [w.title for w in plan.works if w.piece_id in names] or [w.title for w in plan.works]
    if len(titles) > 2:
        return f"This week: {number(len(titles))} pieces"
    return f"This week: {listed(titles)}" if titles else "This week"


def _subtitle(
    plan: Plan, sessions: Sequence[Session], first: date, last: date, lesson: int | None
) -> str:
    parts = [
        f"until the lesson on {WEEKDAYS[last.weekday()]}"
        if lesson is not None
        else f"from {WEEKDAYS[first.weekday()]}, for a week"
    ]
    minutes = sorted(
        {sum(s.minutes for s in sessions if s.day == day) for day in {s.day for s in sessions}}
    )
    if len(minutes) == 1:
        parts.append(f"{minutes[0]} minutes a day")
    elif minutes:
        parts.append(f"{minutes[0]} to {minutes[-1]} minutes a day")
    dates = [w.performance for w in plan.works if w.performance and w.performance >= first]
    if dates:
        parts.append(_until((min(dates) - first).days))
    return " · ".join(parts)


def _until(days: int) -> str:
    if days == 0:
        return "the performance is today"
    if days < 14:
        return f"{counted(days, 'day')} to the performance"
    return f"{counted(days // 7, 'week')} to the performance"


def _family(lines: Sequence[Line]) -> tuple[str, ...]:
    """What to listen for, for the lines that matter most; each once."""
    rows: list[str] = []
    for line in lines:
        words = family_words.KINDS.get(line.kind) or family_words.LAYERS.get(line.layer)
        if words and words not in rows:
            rows.append(words)
    return tuple(rows[:FAMILY_LINES])
