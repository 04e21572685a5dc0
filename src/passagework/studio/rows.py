"""Rows of the database as records."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from passagework.hands.hand import DEFAULT_REACH_CM, Hand, Hands
from passagework.score.titles import title_of_file
from passagework.studio.records import (
    EditRecord,
    LessonRecord,
    PlanRecord,
    SkillOverrule,
    StudentRecord,
    StudyRecord,
    TakeRecord,
)
from passagework.studio.tables_people import Edit, Lesson, Plan, Skill, Student, Study, Take
from passagework.studio.tables_pieces import Piece


def student_record(row: Student) -> StudentRecord:
    """A student."""
    return StudentRecord(
        id=row.id,
        uid=row.uid,
        name=row.name,
        age_band=row.age_band,
        hands=hands_of(row.reach_left_cm, row.reach_right_cm, row.hands_more),
        weekly_minutes=row.weekly_minutes,
        practice_days=tuple(row.practice_days),
        lesson_weekday=row.lesson_weekday,
        lesson_time=row.lesson_time,
        lesson_minutes=row.lesson_minutes,
        notes=row.notes,
        archived=row.archived,
        added_at=row.added_at,
        changed_at=row.changed_at,
    )


def hands_of(
    left_cm: float | None, right_cm: float | None, more: Mapping[str, Any] | None
) -> Hands | None:
    """Both hands; None where neither was measured. One measured hand stands for the other."""
    if left_cm is None and right_cm is None:
        return None
    return Hands(
        _hand(left_cm or right_cm, (more or {}).get("left")),
        _hand(right_cm or left_cm, (more or {}).get("right")),
    )


def _hand(reach_cm: float | None, more: Mapping[str, Any] | None) -> Hand:
    more = more or {}
    return Hand(
        reach_cm or DEFAULT_REACH_CM,
        more.get("comfortable_cm"),
        tuple((int(low), int(high), float(cm)) for low, high, cm in more.get("pair_cm", ())),
        frozenset(more.get("weak", ())),
        frozenset(more.get("resting", ())),
    )


def hand_more(hand: Hand) -> dict[str, Any]:
    """What `Hand` holds beyond its reach, as JSON; empty for nothing."""
    more: dict[str, Any] = {}
    if hand.comfortable_cm is not None:
        more["comfortable_cm"] = hand.comfortable_cm
    if hand.pair_cm:
        more["pair_cm"] = [list(pair) for pair in hand.pair_cm]
    if hand.weak:
        more["weak"] = sorted(hand.weak)
    if hand.resting:
        more["resting"] = sorted(hand.resting)
    return more


def piece_title(row: Piece | None) -> str:
    """What a piece is called in lists; empty for none."""
    return (
        (row.own_title or row.title or title_of_file(row.file_name) or row.file_name)
        if row is not None
        else ""
    )


STUDY_COLUMNS = (
    Study.id,
    Study.uid,
    Study.student_id,
    Study.piece_id,
    Study.status,
    Study.since,
    Study.performance_on,
    Study.result,
    Study.result_on,
    Study.notes,
    Study.changed_at,
    Student.name,
    Piece.own_title,
    Piece.title,
    Piece.file_name,
    Piece.own_composer,
    Piece.composer,
    Piece.hash,
    Piece.deleted_at,
)
"""A study with the names to show it by. Plain columns: pages list hundreds of them, and whole rows take three times as long."""


def study_records(session: Session, *conditions: Any, order: Sequence[Any]) -> list[StudyRecord]:
    """The studies that conditions fit, in order."""
    query = (
        select(*STUDY_COLUMNS)
        .join(Student, Student.id == Study.student_id)
        .join(Piece, Piece.id == Study.piece_id)
        .where(*conditions)
        .order_by(*order)
    )
    return [_study(*row) for row in session.execute(query)]


def _study(*columns: Any) -> StudyRecord:
    own = columns[:11]
    student, own_title, title, file_name, own_composer, composer, hash_, deleted_at = columns[11:]
    number, uid, student_id, piece_id, status, since, on, result, result_on, notes, changed_at = own
    return StudyRecord(
        id=number,
        uid=uid,
        student_id=student_id,
        piece_id=piece_id,
        status=status,
        since=since,
        performance_on=on,
        result=result,
        result_on=result_on,
        notes=notes,
        changed_at=changed_at,
        student_name=student,
        piece_title=own_title or title or title_of_file(file_name or ""),
        piece_composer=own_composer or composer,
        piece_hash=hash_,
        in_library=deleted_at is None,
    )


def lesson_record(row: Lesson) -> LessonRecord:
    """A lesson."""
    return LessonRecord(
        id=row.id,
        uid=row.uid,
        student_id=row.student_id,
        on=row.on,
        at=row.at,
        promised=row.promised,
        notes=row.notes,
        assignment=row.assignment,
        student_name=row.student.name,
        changed_at=row.changed_at,
    )


def take_record(row: Take) -> TakeRecord:
    """A take without its result."""
    return TakeRecord(
        id=row.id,
        uid=row.uid,
        student_id=row.student_id,
        piece_id=row.piece_id,
        kind=row.kind,
        file_name=row.file_name,
        media_type=row.media_type,
        recorded_at=row.recorded_at,
        notes=row.notes,
        hash=row.hash,
        size=row.size,
        status=row.status,
        summary=row.summary,
        heard_by_teacher=row.heard_by_teacher,
        student_name=row.student.name,
        piece_title=piece_title(row.piece),
        changed_at=row.changed_at,
    )


def plan_record(row: Plan) -> PlanRecord:
    """A version of a plan."""
    return PlanRecord(
        id=row.id,
        uid=row.uid,
        student_id=row.student_id,
        piece_id=row.piece_id,
        version=row.version,
        reason=row.reason,
        made_at=row.made_at,
        body=row.body,
    )


def edit_record(row: Edit) -> EditRecord:
    """An edit."""
    return EditRecord(
        id=row.id,
        uid=row.uid,
        piece_id=row.piece_id,
        student_id=row.student_id,
        kind=row.kind,
        key=row.key,
        bar=row.bar,
        note_ids=tuple(row.note_ids),
        payload=row.payload,
        made_at=row.made_at,
        changed_at=row.changed_at,
    )


def skill_record(row: Skill) -> SkillOverrule:
    """The teacher's word on a skill."""
    return SkillOverrule(
        id=row.id,
        student_id=row.student_id,
        kind=row.kind,
        value=row.value,
        notes=row.notes,
        changed_at=row.changed_at,
    )
