"""A piece as somebody sees it now: the documents, with the teacher's edits laid over them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, Final

from passagework.hands.hand import Hands
from passagework.studio.piece_records import PieceRecord
from passagework.studio.records import EditRecord, StudentRecord
from passagework.teaching.edit_rows import from_row
from passagework.teaching.edits import Edit, FixedFinger, Shown, fixed_by_id, lay_over
from passagework.web.jobs import Job
from passagework.web.piece.drawing import Drawing, draw_sheet
from passagework.web.piece.fingers_document import NONE_YET, Fingers
from passagework.web.piece.hold import as_fixed
from passagework.web.piece.layers import layers_of
from passagework.web.piece.places_document import Places
from passagework.web.piece.score_document import Score
from passagework.web.piece.shelf import Shelf, Whose

KEEP_FROM: Final = 8
"""Systems drawn anew from which the drawings are put into the cache."""


@dataclass(frozen=True)
class Sheet:
    """What the page shows."""

    whose: Whose
    student: StudentRecord | None
    score: Score
    places: Places
    fingers: Fingers
    shown: Shown
    edits: tuple[tuple[Edit, EditRecord], ...]
    """The teacher's edits with their records."""
    drawings: tuple[Drawing, ...]
    refingering: Job | None = None
    """The work that fits the other fingers to those the teacher fixed last."""

    @property
    def piece(self) -> PieceRecord:
        """The piece's record."""
        return self.whose.piece

    @cached_property
    def _record_of(self) -> dict[int, EditRecord]:
        return {id(edit): record for edit, record in self.edits}

    def record(self, edit: Edit) -> EditRecord:
        """The record of one of the sheet's edits."""
        return self._record_of[id(edit)]


@dataclass(frozen=True)
class Preparing:
    """A piece that is being worked out."""

    piece: PieceRecord
    student: StudentRecord | None
    job: Job


@dataclass(frozen=True)
class Wanted:
    """A piece, for whom, and the teacher's edits for them."""

    piece: PieceRecord
    student: StudentRecord | None
    records: tuple[EditRecord, ...]
    edits: tuple[Edit, ...] = field(default=())

    @property
    def hands(self) -> Hands:
        """The student's hands; middle-sized ones where nobody is chosen or they are not measured."""
        return (self.student.hands if self.student else None) or Hands()


def wanted(studio: Any, piece_id: int, student_id: int | None) -> Wanted:
    """What is asked for. Raises `NotFoundError` where there is no such piece or student."""
    piece = studio.pieces.get(piece_id)
    student = studio.students.get(student_id) if student_id is not None else None
    records = effective(studio.edits.of_piece(piece_id, student_id))
    edits = tuple(from_row(r.kind, r.key, _plain(r.payload)) for r in records)
    return Wanted(piece, student, records, edits)


def effective(records: Iterable[EditRecord]) -> tuple[EditRecord, ...]:
    """Of two records of one kind and key, what holds for this student instead of what holds for all."""
    found: dict[tuple[str, str], EditRecord] = {}
    for record in sorted(records, key=lambda r: (r.student_id is None, r.id)):
        found.setdefault((record.kind, record.key), record)
    return tuple(found.values())


def _plain(value: Any) -> Any:
    """JSON values as plain dictionaries and lists."""
    if isinstance(value, (str, int, float, bool)) or value is None:
        return value
    if hasattr(value, "items"):
        return {k: _plain(v) for k, v in value.items()}
    return [_plain(v) for v in value]


def open_sheet(shelf: Shelf, asked: Wanted) -> Sheet | Preparing:
    """The sheet, or the work that has to be done first. A fingering that is being found is not waited for."""
    piece = asked.piece
    plain = Whose(piece, asked.hands)
    score, places = shelf.score(piece), shelf.places(plain)
    if score is None or places is None:
        job = shelf.prepare(plain, f"Preparing {piece.title}")
        if not any(isinstance(edit, FixedFinger) for edit in asked.edits):
            shelf.refinger(plain)
        return Preparing(piece, asked.student, job)
    whose = replace(plain, fixed=as_fixed(fixed_by_id(asked.edits, score.index)))
    fingers, job_ = shelf.fingers(whose), None
    if fingers is None:
        fingers = shelf.latest_fingers(whose) or Fingers(NONE_YET)
        job_ = shelf.refinger(whose)
    else:
        shelf.note_fingers(whose)
    shown = lay_over(places.spots, asked.edits, score.index)
    drawn = shelf.drawn(whose)
    drawings = draw_sheet(score, layers_of(score, fingers, shown), drawn)
    if drawn.new >= min(KEEP_FROM, len(drawings)) and job_ is None:
        drawn.keep([d.print_ for d in drawings])
    return Sheet(
        whose,
        asked.student,
        score,
        places,
        fingers,
        shown,
        tuple(zip(asked.edits, asked.records, strict=True)),
        tuple(drawings),
        job_,
    )


def changed(sheet: Sheet, prints: Sequence[str]) -> dict[str, str]:
    """Drawings of the systems whose print is not among `prints`, by the system's number."""
    known = set(prints)
    return {str(d.at): d.svg for d in sheet.drawings if d.print_ not in known}
