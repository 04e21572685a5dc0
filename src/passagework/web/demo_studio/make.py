"""Making the demo studio: what months of lessons would have left in it, day by day."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Final

from passagework.studio.piece_records import PieceDetails
from passagework.studio.records import LessonDetails, StudyDetails, TakeDetails
from passagework.studio.studio import open_studio
from passagework.web.demo_studio.people import PEOPLE, PIECES, TAGS, Met, Person, Played, Studied
from passagework.web.demo_studio.playing import played
from passagework.web.library.facts import facts_job
from passagework.web.piece.hold import prepared
from passagework.web.takes.hearing import keep_result, take_asked
from passagework.web.takes.work import listen_job
from passagework.web.teaching.evidence import known_student
from passagework.web.teaching.measured import Wanted, demands_job, reach_of
from passagework.web.teaching.plan_work import plan_job
from passagework.web.teaching.planning import plan_asked

if TYPE_CHECKING:
    from passagework.studio.studio import Studio
    from passagework.teaching.progress import ItemResult

EVENING: Final = time(18, 30)
"""When takes are made."""
MORNING: Final = time(9)
WEEK: Final = 7

Say = Callable[[str], None]


class Clock:
    """The studio's clock, which the making moves along."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        """The moment."""
        return self.now


def _quiet(_words: str) -> None:
    """Say nothing."""


def _silent(share: float | None, words: str = "") -> None:
    """Report nothing."""


def make_demo_studio(
    folder: Path, today: date, say: Say = _quiet, people: Sequence[Person] = PEOPLE
) -> bool:
    """Fill an empty folder; False where a studio is there already, which stays as it is.

    Raises `StudioError` where the folder cannot be used.
    """
    begin = today - timedelta(days=max(s.since for p in people for s in p.studies) + WEEK)
    clock = Clock(_at(begin, MORNING))
    with open_studio(folder, now=clock) as studio:
        if studio.students.all() or studio.pieces.all():
            return False
        pieces = {name: _add_piece(studio, name) for name in PIECES}
        for person in people:
            say(f"{person.details.name}: lessons, takes and a plan")
            clock.now = _at(begin, MORNING)
            _Life(studio, clock, person, pieces, today).live()
        clock.now = _at(today, MORNING)
    return True


def _add_piece(studio: Studio, name: str) -> int:
    file_name = f"{name}.musicxml"
    data = score_of(name)
    piece = studio.pieces.add(data, file_name, facts_job(_silent, data, file_name)).piece
    studio.pieces.change(piece.id, PieceDetails(tags=TAGS[name]))
    return piece.id


def score_of(name: str) -> bytes:
    """The file of a demo piece."""
    return files("passagework").joinpath("demo", f"{name}.musicxml").read_bytes()


class _Life:
    """One student's months."""

    def __init__(
        self,
        studio: Studio,
        clock: Clock,
        person: Person,
        pieces: dict[str, int],
        today: date,
    ) -> None:
        self.studio, self.clock, self.person = studio, clock, person
        self.pieces, self.today = pieces, today
        weekday = (today + timedelta(days=person.lesson_in)).weekday()
        self.student = studio.students.add(replace(person.details, lesson_weekday=weekday))

    def live(self) -> None:
        """Everything in the order in which it came about: lessons before the takes of their day."""
        for study in self.person.studies:
            self._take_up(study)
        events: list[tuple[int, int, Met | tuple[Studied, Played]]]
        events = [(met.days_ago, 0, met) for met in self.person.lessons]
        events += [(t.days_ago, 1, (s, t)) for s in self.person.studies for t in s.takes]
        for days_ago, _, event in sorted(events, key=lambda e: (-e[0], e[1])):
            self.clock.now = _at(self._day(days_ago), EVENING)
            if isinstance(event, Met):
                self._meet(event)
            else:
                self._play(*event)

    def _day(self, days_ago: int) -> date:
        return self.today - timedelta(days=days_ago)

    def _take_up(self, study: Studied) -> None:
        number = self.pieces[study.piece]
        record = self.studio.pieces.get(number)
        wanted = Wanted(number, record.hash, reach_of(self.student))
        if self.studio.computed.get(wanted.key) is None:
            data = demands_job(_silent, score_of(study.piece), record.file_name, wanted.reach_cm)
            self.studio.computed.put(wanted.key, data)
        over = bool(study.result)
        ahead = study.perform_in
        self.studio.studies.add(
            StudyDetails(
                student_id=self.student.id,
                piece_id=number,
                status="finished" if over else "learning",
                since=self._day(study.since),
                performance_on=None if ahead is None else self._day(-ahead),
                result=study.result,
                result_on=self._day(min(t.days_ago for t in study.takes)) if over else None,
                notes=study.notes,
            )
        )

    def _meet(self, met: Met) -> None:
        self.studio.lessons.add(
            LessonDetails(
                student_id=self.student.id,
                on=self._day(met.days_ago),
                at=self.student.lesson_time,
                notes=met.notes,
                promised=met.promised,
            )
        )
        planned = self.studio.plans.latest(self.student.id) is not None
        self._plan(self._day(met.days_ago), "after the lesson" if planned else "at your wish")

    def _play(self, study: Studied, how: Played) -> None:
        hands = self.student.hands
        assert hands is not None
        number = self.pieces[study.piece]
        name, day = f"{study.piece}.musicxml", self._day(how.days_ago)
        data = played(prepared(score_of(study.piece), name, hands), how, seed=how.days_ago)
        take = self.studio.takes.add(
            data,
            TakeDetails(
                student_id=self.student.id,
                kind="midi",
                piece_id=number,
                file_name=f"{study.piece}-{day.isoformat()}.mid",
                media_type="audio/midi",
                recorded_at=_at(day, EVENING),
                notes=how.notes,
            ),
        ).value
        found = listen_job(_silent, take_asked(self.studio, take))
        results = keep_result(self.studio, take.id, number, found)
        if how.heard:
            self.studio.takes.heard(take.id)
        if results and self.studio.plans.latest(self.student.id) is not None:
            self._plan(day, "after a take", results)

    def _plan(self, day: date, reason: str, results: tuple[ItemResult, ...] = ()) -> None:
        known = known_student(self.studio, self.student.id)
        body = plan_job(_silent, plan_asked(self.studio, known, day, results))
        self.studio.plans.add(self.student.id, None, body, reason)


def _at(day: date, hour: time) -> datetime:
    """That hour on this machine's calendar."""
    return datetime.combine(day, hour).astimezone(UTC)
