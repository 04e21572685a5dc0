"""The plan: from today to each performance, day by day, made again after every lesson and take.

A plan carries all that it was made of (the work, how far each item is, the settings), so that it can be kept, shown and
made again (`replan`) without the music. When the time does not suffice, it says how many minutes are lacking, what it
leaves out to make the rest whole, and which day would do.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from passagework.teaching.course import Course, through_minutes
from passagework.teaching.enough import Judge, needed, placed
from passagework.teaching.items import Item, Limits, items_of
from passagework.teaching.progress import (
    ItemResult,
    ItemState,
    Session,
    advance,
    apply_results,
)
from passagework.teaching.schedule import schedule
from passagework.teaching.settings import Settings
from passagework.teaching.student import Student
from passagework.teaching.work import PieceWork

FORMAT = "passagework.plan/1"


@dataclass(frozen=True, slots=True)
class Need:
    """What a piece needs and what it gets."""

    piece_id: str
    needed: int
    """Minutes that are still needed for everything."""
    placed: int
    """Minutes of that which have found a day."""
    lacking: int
    """Minutes for which there is no room; 0 where the time suffices."""
    left_out: tuple[str, ...] = ()
    """Ids of the items that the plan leaves out, so that the rest can be whole."""
    unfinished: tuple[str, ...] = ()
    """Ids of items that are in the plan and are not learned by its end."""
    enough: date | None = None
    """The day that would do, so many whole weeks after the performance; None where the time suffices, or none was found."""


@dataclass(frozen=True)
class Plan:
    """What to practise when."""

    made: date
    """The day from which on it plans."""
    day_minutes: tuple[int, ...]
    """Minutes of each weekday, Monday first."""
    lesson_weekday: int | None
    works: tuple[PieceWork, ...]
    items: tuple[Item, ...]
    """Everything there is to practise, with the minutes that it takes this student."""
    states: Mapping[str, ItemState]
    """How far each item was when the plan was made, by its id; those that were never touched are missing."""
    sessions: tuple[Session, ...]
    """In order of days and, within a day, as they are to be played."""
    needs: tuple[Need, ...]
    settings: Settings = field(default_factory=Settings)
    days_off: tuple[date, ...] = ()

    @property
    def suffices(self) -> bool:
        """Whether the time suffices for every piece."""
        return all(need.lacking == 0 for need in self.needs)

    def between(self, first: date, last: date) -> tuple[Session, ...]:
        """The practices from `first` to `last`, both included."""
        return tuple(s for s in self.sessions if first <= s.day <= last)

    def on(self, day: date) -> tuple[Session, ...]:
        """The practices of one day, in the order in which they are to be played."""
        return self.between(day, day)

    def work(self, piece_id: str) -> PieceWork:
        """The work of one piece. Raises `KeyError` for a piece that is not in the plan."""
        for work in self.works:
            if work.piece_id == piece_id:
                return work
        raise KeyError(piece_id)

    def item(self, name: str) -> Item | None:
        """The item of that id; None for playing through."""
        return next((i for i in self.items if i.id == name), None)


def plan_all(
    works: Sequence[PieceWork],
    student: Student,
    secure: Mapping[str, float],
    today: date,
    *,
    settings: Settings | None = None,
    states: Mapping[str, ItemState] | None = None,
    days_off: Collection[date] = (),
) -> Plan:
    """The plan of all `works` of `student` from `today` on; pieces share the minutes.

    `secure` are the values of the skills of which something is known (`passagework.teaching.skills.skill_values`),
    `states` how far each item is, by its id.
    """
    if len({w.piece_id for w in works}) < len(works):
        raise ValueError("a piece stands twice in the plan")
    values = settings or Settings()
    limits = _limits(student, values)
    items = [items_of(work, secure, values, limits) for work in works]
    known = {i.id: states[i.id] for row in items for i in row if states and i.id in states}
    courses = [_course(work, row, today, values) for work, row in zip(works, items, strict=True)]
    maker = _Maker(student, known, today, values, tuple(sorted(set(days_off))))
    return maker.make(tuple(works), courses)


def replan(
    plan: Plan,
    student: Student,
    secure: Mapping[str, float],
    today: date,
    *,
    results: Iterable[ItemResult] = (),
    missed: Collection[date] = (),
    works: Sequence[PieceWork] | None = None,
    days_off: Collection[date] | None = None,
    settings: Settings | None = None,
) -> Plan:
    """The plan made again on `today`: what was planned for days before counts as practised, but for the `missed` ones;
    then the `results` of lessons and takes are laid over it. `works` replaces the pieces (a new one, another date).
    """
    states = advance(plan.states, plan.sessions, today, missed)
    states = apply_results(states, {i.id: i for i in plan.items}, results)
    return plan_all(
        plan.works if works is None else works,
        student,
        secure,
        today,
        settings=settings or plan.settings,
        states=states,
        days_off=plan.days_off if days_off is None else days_off,
    )


def _limits(student: Student, settings: Settings) -> Limits:
    """How long one practice of one thing may be: what the age bears, and never more than the shortest day has."""
    shortest = settings.shortest_minutes or student.age.shortest_minutes
    longest = settings.longest_minutes or student.age.longest_minutes
    day = min((m for m in student.day_minutes if m > 0), default=shortest)
    shortest = min(shortest, day)
    return Limits(shortest, max(min(longest, day), shortest))


def _course(work: PieceWork, items: Sequence[Item], today: date, settings: Settings) -> Course:
    through = through_minutes(work.seconds)
    if work.performance is None:
        end = today.toordinal() + settings.open_days
        return Course(work.piece_id, tuple(items), through, end, end, dated=False)
    end = work.performance.toordinal()
    return Course(work.piece_id, tuple(items), through, end, end - settings.last_week_days)


@dataclass(frozen=True)
class _Maker:
    """What all schedules of one plan share."""

    student: Student
    states: Mapping[str, ItemState]
    today: date
    settings: Settings
    days_off: tuple[date, ...]

    def sessions(self, courses: Sequence[Course], keep: bool = False) -> tuple[Session, ...]:
        return schedule(
            courses,
            self.states,
            self.student.day_minutes,
            self.today,
            self.settings,
            new_a_day=self.settings.new_a_day or self.student.age.new_a_day,
            days_off=self.days_off,
            keep=keep,
        )

    def make(self, works: tuple[PieceWork, ...], courses: Sequence[Course]) -> Plan:
        judge = Judge(self.states, self.sessions, self.today.toordinal())
        full = self.sessions(courses, keep=True)
        lacking = {c.piece_id: judge.lacking(c, full) for c in courses}
        short = [name for name, minutes in lacking.items() if minutes > 0]
        kept = judge.trimmed(courses, full, short) if short else list(courses)
        shown = self.sessions(kept, keep=True) if short else full
        weeks = judge.enough(courses, short, sum(self.student.day_minutes)) if short else {}
        needs = []
        for course, cut in zip(courses, kept, strict=True):
            later = weeks.get(course.piece_id)
            needs.append(
                Need(
                    course.piece_id,
                    needed(course, self.states),
                    placed(course, full),
                    lacking[course.piece_id],
                    _gone(course, cut),
                    _unfinished(cut, self.states, shown),
                    None if later is None else date.fromordinal(course.end + 7 * later),
                )
            )
        return Plan(
            made=self.today,
            day_minutes=self.student.day_minutes,
            lesson_weekday=self.student.lesson_weekday,
            works=works,
            items=tuple(i for c in courses for i in c.items),
            states=dict(self.states),
            sessions=shown,
            needs=tuple(needs),
            settings=self.settings,
            days_off=self.days_off,
        )


def _gone(course: Course, kept: Course) -> tuple[str, ...]:
    left = {i.id for i in kept.items}
    return tuple(i.id for i in course.items if i.id not in left)


def _unfinished(
    course: Course, states: Mapping[str, ItemState], sessions: Iterable[Session]
) -> tuple[str, ...]:
    """Items that are not learned when the sessions are done."""
    done = {i.id: states[i.id].learned if i.id in states else 0 for i in course.items}
    for session in sessions:
        if session.role == "learn" and session.item in done:
            done[session.item] += session.minutes
    return tuple(i.id for i in course.items if done[i.id] < i.learn)
