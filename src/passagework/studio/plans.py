"""Plans: every version is kept, the latest counts."""

from __future__ import annotations

from uuid import uuid4

from sqlalchemy import ColumnElement, Select, func, select

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.records import Done, Json, PlanRecord
from passagework.studio.rows import plan_record
from passagework.studio.tables_people import Plan, Student
from passagework.studio.tables_pieces import Piece


class Plans:
    """The plans of all students."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def add(
        self, student_id: int, piece_id: int | None, body: Json, reason: str = ""
    ) -> Done[PlanRecord]:
        """A new version of a student's plan for a piece, or for all pieces together (`piece_id` None)."""
        plan = checks.json_value(body, "the plan")
        with self._db.write("Made a plan") as change:
            session = change.session
            student = checks.get_row(session, Student, student_id, "student")
            if piece_id is not None:
                checks.get_row(session, Piece, piece_id, "piece")
            latest = session.scalar(
                select(func.max(Plan.version)).where(*_of(student_id, piece_id))
            )
            row = Plan(
                uid=uuid4().hex,
                student_id=student_id,
                piece_id=piece_id,
                version=(latest or 0) + 1,
                reason=checks.line(reason, "the reason"),
                made_at=change.now,
                body=plan,
            )
            session.add(row)
            change.label = f"Made a plan for {student.name}"
            session.flush()
            record = plan_record(row)
        return change.done(record)

    def get(self, plan_id: int) -> PlanRecord:
        """A version by id; raises `NotFoundError`."""
        with self._db.read() as session:
            return plan_record(checks.get_row(session, Plan, plan_id, "plan"))

    def latest(self, student_id: int, piece_id: int | None = None) -> PlanRecord | None:
        """The version that counts; None where there is no plan."""
        query = _newest_first(student_id, piece_id).limit(1)
        with self._db.read() as session:
            row = session.scalar(query)
            return plan_record(row) if row is not None else None

    def versions(self, student_id: int, piece_id: int | None = None) -> tuple[PlanRecord, ...]:
        """All versions, the latest first."""
        with self._db.read() as session:
            rows = session.scalars(_newest_first(student_id, piece_id))
            return tuple(plan_record(row) for row in rows)

    def all_latest(self, student_id: int) -> tuple[PlanRecord, ...]:
        """The version that counts of each of a student's plans, by piece."""
        newest = (
            select(func.max(Plan.id)).where(Plan.student_id == student_id).group_by(Plan.piece_id)
        )
        query = select(Plan).where(Plan.id.in_(newest)).order_by(Plan.piece_id, Plan.id)
        with self._db.read() as session:
            return tuple(plan_record(row) for row in session.scalars(query))


def _of(student_id: int, piece_id: int | None) -> tuple[ColumnElement[bool], ...]:
    piece = Plan.piece_id.is_(None) if piece_id is None else Plan.piece_id == piece_id
    return Plan.student_id == student_id, piece


def _newest_first(student_id: int, piece_id: int | None) -> Select[Plan]:
    return select(Plan).where(*_of(student_id, piece_id)).order_by(Plan.version.desc())
