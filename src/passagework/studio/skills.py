"""The teacher's word on what a student can do, over the evidence."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from passagework.studio import checks
from passagework.studio.database import Database
from passagework.studio.errors import NotFoundError
from passagework.studio.records import Done, SkillOverrule
from passagework.studio.rows import skill_record
from passagework.studio.tables_people import Skill, Student


class Skills:
    """What the teacher overruled, for all students."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def put(self, student_id: int, kind: str, value: float, notes: str = "") -> Done[SkillOverrule]:
        """Set the hardest of a kind that is secure, 0 to 1; it stands until it is withdrawn."""
        checks.within(value, 0.0, 1.0, "what is secure")
        name = checks.needed(checks.line(kind, "the kind", 40), "the kind of difficulty")
        with self._db.write("Overruled a skill") as change:
            student = checks.get_row(change.session, Student, student_id, "student")
            row = _find(change.session, student_id, name) or Skill(student_id=student.id, kind=name)
            row.value, row.notes = float(value), checks.text(notes, "the note")
            row.changed_at = change.now
            change.session.add(row)
            change.session.flush()
            record = skill_record(row)
        return change.done(record)

    def delete(self, student_id: int, kind: str) -> Done[None]:
        """Withdraw it: the evidence counts again."""
        with self._db.write("Withdrew a word on a skill") as change:
            row = _find(change.session, student_id, kind)
            if row is None:
                raise NotFoundError("there is no word of yours on this skill")
            change.session.delete(row)
        return change.done(None)

    def of_student(self, student_id: int) -> tuple[SkillOverrule, ...]:
        """All of a student, by kind."""
        query = select(Skill).where(Skill.student_id == student_id).order_by(Skill.kind)
        with self._db.read() as session:
            return tuple(skill_record(row) for row in session.scalars(query))


def _find(session: Session, student_id: int, kind: str) -> Skill | None:
    if not checks.is_id(student_id):
        return None
    query = select(Skill).where(Skill.student_id == student_id, Skill.kind == kind)
    return session.scalar(query)
