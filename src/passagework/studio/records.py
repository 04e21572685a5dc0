"""What the studio hands out and takes in: frozen values, nothing that hangs on the database.

Conventions
-----------
* `...Details` is what a teacher can write; the `...Record` of the same name is those details with what the studio adds
  (its id, times). A record is also details: ``students.change(s.id, replace(s, weekly_minutes=90))``.
* `id` numbers are this studio's own; `uid` is the same in every studio that the row is carried to.
* Weekdays run from 0 (Monday) to 6. Moments are aware, in UTC; dates are the teacher's calendar.
* Text is stored as it is typed, without blanks at its ends.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time
from typing import Any, Generic, TypeVar

from passagework.hands.hand import Hands

__all__ = [
    "Day",
    "DayEntry",
    "Done",
    "EditRecord",
    "LessonDetails",
    "LessonRecord",
    "PlanRecord",
    "SkillOverrule",
    "StudentDetails",
    "StudentRecord",
    "StudyDetails",
    "StudyRecord",
    "TakeDetails",
    "TakeRecord",
]

Json = Mapping[str, Any]
"""A JSON object, as a colleague's ``to_json`` makes it."""

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Done(Generic[Value]):
    """A change that was made, and how to take it back."""

    value: Value
    undo: str
    """Token for `Undo.undo`; empty where nothing was changed."""
    label: str
    """What was done, in words: ``"Hid a spot"``."""


@dataclass(frozen=True, kw_only=True)
class StudentDetails:
    """What is kept about a student; as little as the work needs."""

    name: str
    """A first name or initials do."""
    age_band: str = ""
    """A band of `passagework.teaching.student.AGES`, never a date of birth; empty if not given."""
    hands: Hands | None = None
    """None until they are measured."""
    weekly_minutes: int | None = None
    practice_days: tuple[int, ...] = ()
    """Weekdays, in order."""
    lesson_weekday: int | None = None
    lesson_time: time | None = None
    lesson_minutes: int | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class StudentRecord(StudentDetails):
    """A student in the studio."""

    id: int
    uid: str
    archived: bool
    added_at: datetime
    changed_at: datetime


STUDY_STATUSES = ("planned", "learning", "kept", "finished", "dropped")
"""Of a piece with a student: to come, at work, kept in the fingers, done, given up."""

STUDY_RESULTS = ("", "secure", "ok", "shaky", "dropped")
"""What came of it, in the words of `passagework.teaching.student`; empty while it is open."""


@dataclass(frozen=True, kw_only=True)
class StudyDetails:
    """A piece that a student studies or has studied."""

    student_id: int
    piece_id: int
    status: str = "learning"
    """One of `STUDY_STATUSES`."""
    since: date | None = None
    performance_on: date | None = None
    result: str = ""
    """One of `STUDY_RESULTS`."""
    result_on: date | None = None
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class StudyRecord(StudyDetails):
    """A study, with the names to show it by."""

    id: int
    uid: str
    changed_at: datetime
    student_name: str
    piece_title: str
    piece_composer: str
    piece_hash: str
    in_library: bool
    """False where the piece was deleted from the library since."""


@dataclass(frozen=True, kw_only=True)
class LessonDetails:
    """A lesson, past or to come."""

    student_id: int
    on: date
    at: time | None = None
    promised: str = ""
    """What was promised for the next time, by either side."""
    notes: str = ""
    assignment: Json | None = None
    """The week's assignment (`passagework.teaching.assignment`)."""


@dataclass(frozen=True, kw_only=True)
class LessonRecord(LessonDetails):
    """A lesson in the studio."""

    id: int
    uid: str
    student_name: str
    changed_at: datetime


TAKE_KINDS = ("midi", "recording")

TAKE_STATUSES = ("waiting", "measured", "failed")
"""Not listened to by the program yet; done; could not be (the summary says why)."""


@dataclass(frozen=True, kw_only=True)
class TakeDetails:
    """What is known of a take when it comes in."""

    student_id: int
    kind: str
    """One of `TAKE_KINDS`."""
    piece_id: int | None = None
    """None while it is not said what was played."""
    file_name: str = ""
    media_type: str = ""
    recorded_at: datetime | None = None
    """None for now."""
    notes: str = ""


@dataclass(frozen=True, kw_only=True)
class TakeRecord(TakeDetails):
    """A take in the studio. The whole result is fetched with `Takes.result`, the file with `Takes.file`."""

    id: int
    uid: str
    hash: str
    size: int
    """Bytes."""
    status: str
    """One of `TAKE_STATUSES`."""
    summary: Json
    """A few values of the result, small enough for lists."""
    heard_by_teacher: bool
    student_name: str
    piece_title: str
    changed_at: datetime


@dataclass(frozen=True, kw_only=True)
class PlanRecord:
    """One version of a student's plan; every version is kept."""

    id: int
    uid: str
    student_id: int
    piece_id: int | None
    """None for a plan of several pieces."""
    version: int
    """1, 2, ... for this student and piece."""
    reason: str
    """Why it was made anew: ``"after the lesson"``."""
    made_at: datetime
    body: Json


@dataclass(frozen=True, kw_only=True)
class EditRecord:
    """Something the teacher laid over what is computed: a note, a hidden or added spot, words, a finger."""

    id: int
    uid: str
    piece_id: int
    student_id: int | None
    """None for what holds for every student."""
    kind: str
    """``"own-note"``, ``"hidden-spot"`` ... (`passagework.teaching.edits`)."""
    key: str
    """Tells edits of one kind apart (a note's id, a spot's key, anything); one edit for each key."""
    bar: int | None
    """Index of the first bar concerned."""
    note_ids: tuple[str, ...]
    payload: Json
    made_at: datetime
    changed_at: datetime


@dataclass(frozen=True, kw_only=True)
class SkillOverrule:
    """The teacher's word on what a student can do, over the evidence."""

    id: int
    student_id: int
    kind: str
    """A kind of difficulty (`passagework.spots.table`)."""
    value: float
    """The hardest that is secure, 0 to 1 on the scale of `passagework.demands`; 0 for "not at all yet"."""
    notes: str
    changed_at: datetime


@dataclass(frozen=True, kw_only=True)
class DayEntry:
    """One student on a day's page."""

    student: StudentRecord
    at: time | None
    lesson: LessonRecord | None
    """The lesson written down for this day, if there is one already."""
    last_lesson: LessonRecord | None
    """The one before: what was promised."""
    to_hear: tuple[TakeRecord, ...]
    """Takes that the teacher has not heard, oldest first."""
    studies: tuple[StudyRecord, ...]
    """Pieces at work."""


@dataclass(frozen=True, kw_only=True)
class Day:
    """A day of lessons."""

    on: date
    entries: tuple[DayEntry, ...]
    """In order of time; students without one last."""
    others_to_hear: tuple[TakeRecord, ...] = ()
    """Takes not heard of students who do not come today."""
    performances: tuple[StudyRecord, ...] = field(default=())
    """Studies with a performance in the next four weeks."""


def plural(count: int, word: str) -> str:
    """``"1 take"``, ``"2 takes"``."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"
