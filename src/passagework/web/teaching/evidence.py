"""A student as teaching knows one, from what the studio keeps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Final, cast

from passagework.hands.hand import Hands
from passagework.teaching import stored
from passagework.teaching.student import (
    AGES,
    AgeBand,
    Overrule,
    PieceStudied,
    Result,
    Student,
    TakeHeard,
)
from passagework.web.remember import Remembered
from passagework.web.teaching.measured import Measured, Wanted, known, reach_of

if TYPE_CHECKING:
    from passagework.studio.records import StudentRecord, StudyRecord, TakeRecord
    from passagework.studio.studio import Studio

HEARD_FORMAT: Final = "passagework.heard/1"
"""Under ``"heard"`` in a take's summary stands what teaching keeps of it."""
UNSAID_AGE: Final[AgeBand] = "teenager"
"""An age in the middle, where none is said."""
TAKES_READ: Final = 60
"""The latest takes that count as evidence: a year of one a week."""

HEARD: Final[Remembered[TakeHeard | None]] = Remembered(1000)
"""What was read of takes lately."""


@dataclass(frozen=True)
class Known:
    """A student, and what is still to be measured before all of the evidence is there."""

    record: StudentRecord
    student: Student
    studies: tuple[StudyRecord, ...]
    missing: tuple[Wanted, ...]


def known_student(studio: Studio, number: int) -> Known:
    """The student of this number with all evidence. Raises `NotFoundError`."""
    record = studio.students.get(number)
    studies = studio.studies.of_student(number)
    reach = reach_of(record)
    judged = [s for s in studies if s.result and s.result_on and s.in_library]
    found, missing = known(studio, {Wanted(s.piece_id, s.piece_hash, reach) for s in judged})
    student = Student(
        name=record.name,
        age_band=age_of(record),
        hands=record.hands or Hands(),
        weekly_minutes=record.weekly_minutes or 0,
        practice_days=frozenset(record.practice_days),
        lesson_weekday=record.lesson_weekday,
        pieces=tuple(_pieces(judged, found)),
        takes=tuple(heard_takes(studio.takes.of_student(number, limit=TAKES_READ))),
        overrules=tuple(
            Overrule(row.kind, row.value, row.changed_at.astimezone().date(), row.notes)
            for row in studio.skills.of_student(number)
        ),
    )
    return Known(record, student, studies, tuple(missing))


def age_of(record: StudentRecord) -> AgeBand:
    """The student's age band; one in the middle where none is said."""
    return cast("AgeBand", record.age_band) if record.age_band in AGES else UNSAID_AGE


def heard_takes(takes: Iterable[TakeRecord]) -> Iterable[TakeHeard]:
    """What teaching keeps of takes; those that were not measured are passed over."""
    for take in takes:
        body = take.summary.get("heard")
        heard = HEARD.get((take.uid, take.changed_at), partial(_heard, body))
        if heard is not None:
            yield heard


def _heard(body: Any) -> TakeHeard | None:
    try:
        return stored.read(body, TakeHeard, HEARD_FORMAT)
    except stored.StoredError:
        return None  # none, or another version's: the take is measured again some time


def _pieces(
    studies: Iterable[StudyRecord], measured: Mapping[int, Measured]
) -> Iterable[PieceStudied]:
    for study in studies:
        if study.piece_id in measured and study.result_on is not None:
            yield PieceStudied(
                str(study.piece_id),
                study.piece_title,
                measured[study.piece_id].demands,
                cast("Result", study.result),
                study.result_on,
            )
