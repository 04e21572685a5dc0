"""A studio with something on every page, made without the pages."""

from __future__ import annotations

from datetime import date, time, timedelta
from pathlib import Path

from passagework.hands.hand import Hand, Hands
from passagework.studio.records import LessonDetails, StudentDetails, StudyDetails, TakeDetails
from passagework.studio.studio import open_studio

DEMO = Path(__file__).parents[2] / "src" / "passagework" / "demo"
PIECES = ("paper-boat", "lamplighter", "evening-ferry")


def furnish(folder: Path, today: date) -> None:
    """Two students, the demo's pieces, lessons, and a take of which only the file is there."""
    from passagework.studio.piece_records import Background, Edition, PieceDetails, PieceLevel
    from passagework.web.library.facts import facts_job

    with open_studio(folder) as studio:
        for name in PIECES:
            data = (DEMO / f"{name}.musicxml").read_bytes()
            facts = facts_job(lambda *_: None, data, f"{name}.musicxml")  # type: ignore[misc]
            studio.pieces.add(data, f"{name}.musicxml", facts)
        studio.levels.make("Mine", ["first", "second", "third"])
        studio.pieces.change(
            1,
            PieceDetails(
                tags=("calm", "water"),
                editions=(Edition(title="Little Pieces", publisher="Passagework", place="3"),),
                levels=(PieceLevel(list_name="Mine", label="first"),),
                backgrounds=(Background(text="Written beside a lake.", source="the composer"),),
                notes="For spring.",
            ),
        )
        weekday = today.weekday()
        studio.students.add(
            StudentDetails(
                name="Mila",
                age_band="child",
                hands=Hands(Hand(15.5), Hand(16.0)),
                weekly_minutes=120,
                practice_days=(0, 1, 3, 5),
                lesson_weekday=weekday,
                lesson_time=time(16, 30),
                notes="Sings everything first.",
            )
        )
        studio.students.add(StudentDetails(name="Jo", lesson_weekday=weekday))
        studio.studies.add(
            StudyDetails(
                student_id=1, piece_id=1, status="finished", result="secure", result_on=today
            )
        )
        studio.studies.add(
            StudyDetails(
                student_id=1, piece_id=2, since=today, performance_on=today + timedelta(60)
            )
        )
        studio.lessons.add(
            LessonDetails(
                student_id=1,
                on=today - timedelta(7),
                promised="Bars 5 to 8 by heart.",
                notes="A steady left hand.",
            )
        )
        studio.takes.add(
            b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk\0\0\0\4\0\xff/\0",
            TakeDetails(student_id=1, kind="midi", piece_id=2, file_name="tuesday.mid"),
        )
        studio.skills.put(1, "leap", 0.35, "heard in the lesson")
