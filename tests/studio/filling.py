"""Things to put into a studio. Scores here are any bytes: facts are handed in, as a worker does."""

from __future__ import annotations

from datetime import date, time

from passagework.hands.hand import Hand, Hands
from passagework.studio.piece_records import (
    Background,
    Edition,
    PieceDetails,
    PieceFacts,
    PieceLevel,
    PieceRecord,
)
from passagework.studio.records import (
    LessonDetails,
    StudentDetails,
    StudentRecord,
    StudyDetails,
    TakeDetails,
)
from passagework.studio.studio import Studio

HANDS = Hands(Hand(18.0, weak=frozenset({4, 5})), Hand(18.5, 16.0, ((2, 5, 13.0),)))


def add_student(studio: Studio, name: str = "Ida", **more: object) -> StudentRecord:
    details: dict[str, object] = {
        "age_band": "child",
        "hands": HANDS,
        "weekly_minutes": 100,
        "practice_days": (0, 2, 4),
        "lesson_weekday": 0,
        "lesson_time": time(15, 30),
        "notes": "likes loud pieces",
    }
    return studio.students.add(StudentDetails(name=name, **{**details, **more}))  # type: ignore[arg-type]


def add_piece(studio: Studio, title: str = "Paper Boat", **facts: object) -> PieceRecord:
    known: dict[str, object] = {
        "title": title,
        "composer": "Composed Here",
        "key": "C major",
        "metre": "3/4",
        "bars": 16,
        "notes": 90,
        "minutes": 1.5,
        "profile": {"kinds": {"leap": 0.5}},
        "profile_version": 1,
        "numbers": {"kind:leap": 0.5},
    }
    made = PieceFacts(**{**known, **facts})  # type: ignore[arg-type]
    return studio.pieces.add(f"score of {title}".encode(), f"{title}.musicxml", made).piece


DETAILS = PieceDetails(
    own_title="The Boat",
    notes="good after the holidays",
    tags=("autumn", "pedal"),
    editions=(Edition(title="Blue Book", publisher="Own Press", place="p. 4"),),
    levels=(PieceLevel(list_name="Mine", label="2"),),
    backgrounds=(Background(text="About a boat", source="the composer"),),
)


def fill(studio: Studio) -> tuple[StudentRecord, PieceRecord]:
    """One of everything for a first student, and a second student with their own."""
    first, second = add_student(studio, "Ida"), add_student(studio, "Jonas", age_band="adult")
    piece, other = add_piece(studio), add_piece(studio, "Rain")
    studio.pieces.change(piece.id, DETAILS)
    for student, played in ((first, piece), (second, other)):
        studio.studies.add(
            StudyDetails(
                student_id=student.id,
                piece_id=played.id,
                since=date(2026, 2, 2),
                performance_on=date(2026, 3, 20),
            )
        )
        studio.lessons.add(
            LessonDetails(
                student_id=student.id,
                on=date(2026, 2, 23),
                promised=f"{student.name} brings the pedal",
                assignment={"minutes": 60},
            )
        )
        take = studio.takes.add(
            f"take of {student.name}".encode(),
            TakeDetails(student_id=student.id, piece_id=played.id, kind="midi", file_name="t.mid"),
        ).value
        studio.takes.set_result(take.id, "measured", {"wrong": 2}, {"alignment": [1, 2]}, 1)
        studio.plans.add(student.id, played.id, {"tasks": [student.name]}, "first")
        studio.skills.put(student.id, "leap", 0.4, f"{student.name} can")
        studio.edits.put(
            played.id,
            "own-note",
            "a",
            {"text": f"for {student.name}"},
            student_id=student.id,
            bar=3,
            note_ids=("n1", "n2"),
        )
    studio.edits.put(piece.id, "hidden-spot", "s1", {"why": "obvious"})
    studio.settings.put("country", "nowhere")
    return first, piece
