"""A large studio, written straight into its tables."""

from __future__ import annotations

import hashlib
import random
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from sqlalchemy import insert

from passagework.studio.search_words import reindex
from passagework.studio.studio import Studio
from passagework.studio.tables_people import (
    Edit,
    Lesson,
    Plan,
    Skill,
    Student,
    Study,
    Take,
    TakeResult,
)
from passagework.studio.tables_pieces import (
    Level,
    LevelList,
    Number,
    Piece,
    PieceEdition,
    Profile,
    Tag,
)

WORDS = [
    "river",
    "lamp",
    "minuet",
    "evening",
    "boat",
    "dance",
    "song",
    "of",
    "the",
    "snow",
    "garden",
    "clock",
    "rain",
    "bell",
    "north",
    "study",
    "little",
]
KEYS = [
    f"{note} {mode}"
    for note in ["C", "D", "E", "F", "G", "A", "Bb", "Eb"]
    for mode in ("major", "minor")
]
KINDS = [f"kind:{i}" for i in range(26)] + [f"descriptor:{i}" for i in range(14)]
START = datetime(2025, 9, 1, 15, tzinfo=UTC)


def enlarge(
    studio: Studio, students: int = 60, pieces: int = 300, takes: int = 2000, seed: int = 1
) -> None:
    """Fill a studio as a year or two of lessons do."""
    luck = random.Random(seed)
    for first in range(0, pieces, 5000):
        _pieces(studio, range(first, min(pieces, first + 5000)), luck)
    _people(studio, students, pieces, takes, luck)


def _pieces(studio: Studio, numbers: range, luck: random.Random) -> None:
    with studio._db.write() as change:
        session = change.session
        own = session.get(LevelList, 1)
        if own is None:
            own = LevelList(id=1, name="Mine", labels=[str(i) for i in range(1, 9)])
            session.add(own)
            session.flush()
        rows = [_piece(number, luck) for number in numbers]
        session.add_all(rows)
        session.flush()
        numbers: list[dict[str, Any]] = []
        for row in rows:
            values = {name: round(luck.random(), 3) for name in KINDS}
            session.add(Profile(piece_id=row.id, version=1, body={"kinds": values}))
            numbers += [{"piece_id": row.id, "name": n, "value": v} for n, v in values.items()]
            session.add(Tag(piece_id=row.id, position=0, text=luck.choice(WORDS)))
            session.add(
                PieceEdition(piece_id=row.id, position=0, title=f"Book {luck.randrange(40)}")
            )
            if luck.random() < 0.5:
                label = str(luck.randrange(1, 9))
                session.add(Level(piece_id=row.id, list_id=1, position=0, label=label))
        session.flush()
        session.execute(insert(Number), numbers)
        reindex(session, [row.id for row in rows], studio._db.full_text)


def _piece(number: int, luck: random.Random) -> Piece:
    return Piece(
        uid=f"{number:032x}",
        hash=hashlib.sha256(str(number).encode()).hexdigest(),
        file_name=f"{number}.musicxml",
        size=100_000,
        title=f"{luck.choice(WORDS)} {luck.choice(WORDS)} {luck.choice(WORDS)} No. {number}",
        composer=f"Composer {luck.randrange(80)}",
        key=luck.choice(KEYS),
        metre=luck.choice(["2/4", "3/4", "4/4", "6/8"]),
        bars=luck.randrange(8, 200),
        notes_count=luck.randrange(50, 4000),
        minutes=round(luck.uniform(0.5, 9), 2),
        lowest=30,
        highest=90,
        warnings=[],
        level_score=luck.uniform(0, 10),
        added_at=START,
        changed_at=START,
    )


def _people(studio: Studio, students: int, pieces: int, takes: int, luck: random.Random) -> None:
    with studio._db.write() as change:
        session = change.session
        for number in range(students):
            session.add(
                Student(
                    id=number + 1,
                    uid=f"{number:032x}",
                    name=f"Student {number}",
                    age_band="child",
                    reach_left_cm=18.0,
                    reach_right_cm=18.5,
                    weekly_minutes=100,
                    practice_days=[0, 2, 4],
                    lesson_weekday=number % 5,
                    lesson_time=time(14 + number % 6, 30),
                    added_at=START,
                    changed_at=START,
                )
            )
        session.flush()
        for number in range(students):
            for week in range(40):
                session.add(
                    Lesson(
                        uid=f"{number * 1000 + week:032x}",
                        student_id=number + 1,
                        on=date(2025, 9, 1) + timedelta(days=number % 5 + 7 * week),
                        promised="the left hand alone, and the pedal",
                        notes="a note " * 20,
                        assignment={"tasks": [{"what": "bars 1 to 8", "minutes": 5}] * 8},
                        changed_at=START,
                    )
                )
            for kind in range(3):
                session.add(
                    Skill(student_id=number + 1, kind=f"kind{kind}", value=0.5, changed_at=START)
                )
            for which in range(12):
                piece_id = (number * 7 + which) % pieces + 1
                session.add(
                    Study(
                        uid=f"{number * 1000 + which:032x}",
                        student_id=number + 1,
                        piece_id=piece_id,
                        status="learning" if which < 3 else "finished",
                        since=date(2025, 9, 1) + timedelta(days=10 * which),
                        performance_on=date(2026, 3, 10) if which == 0 else None,
                        changed_at=START,
                    )
                )
            body = {"days": [{"tasks": [{"what": "x" * 40, "minutes": 5}] * 6}] * 60}
            for version in range(10):
                session.add(
                    Plan(
                        uid=f"{number * 1000 + version:032x}",
                        student_id=number + 1,
                        piece_id=None,
                        version=version + 1,
                        made_at=START,
                        body=body,
                    )
                )
        for number in range(takes):
            session.add(
                Take(
                    id=number + 1,
                    uid=f"{number:032x}",
                    student_id=number % students + 1,
                    piece_id=number % pieces + 1,
                    hash=hashlib.sha256(b"take%d" % number).hexdigest(),
                    size=20_000,
                    kind="midi",
                    recorded_at=START + timedelta(hours=number),
                    status="measured",
                    summary={"wrong": 3, "fit": 0.98},
                    heard_by_teacher=number < takes - 40,
                    changed_at=START,
                )
            )
        session.flush()
        result = {"alignment": [[f"n{i}", i, 0] for i in range(600)]}
        session.add_all(TakeResult(take_id=i + 1, version=1, body=result) for i in range(takes))
        for number in range(60):
            session.add(
                Edit(
                    uid=f"{number:032x}",
                    piece_id=1,
                    kind="fixed-finger",
                    key=f"n{number}",
                    note_ids=[f"n{number}"],
                    payload={"finger": 3},
                    made_at=START,
                    changed_at=START,
                )
            )
    luck.random()
