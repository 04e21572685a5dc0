"""Every page of a studio of 60 students, 300 pieces and 2,000 takes is made in at most 150 ms of work."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Callable, Iterator
from dataclasses import asdict
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from sqlalchemy import update

from passagework.teaching import stored
from passagework.teaching.student import FindingHeard, Shown, TakeHeard
from passagework.web.teaching.evidence import HEARD_FORMAT
from passagework.web.teaching.measured import Wanted, from_json, reach_of
from tests.studio.large import enlarge
from tests.web.conftest import with_studio

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.testclient import TestClient

    from passagework.studio.piece_records import PieceFacts
    from passagework.studio.studio import Studio

MOST_MS = 150.0
TRIES = 15
STUDENT = 7
MONDAY = "2026-03-02"

PAGES = (
    "/",
    f"/?on={MONDAY}",
    "/students",
    "/students/new",
    f"/students/{STUDENT}",
    f"/students/{STUDENT}/details",
    f"/students/{STUDENT}/delete",
    f"/students/{STUDENT}/skills",
    f"/students/{STUDENT}/ready/43",
    f"/students/{STUDENT}/takes",
    f"/students/{STUDENT}/lessons",
    f"/students/{STUDENT}/lessons/new",
    f"/students/{STUDENT}/plan",
    f"/students/{STUDENT}/assignment",
    "/library",
    f"/library?student={STUDENT}",
    "/library?text=riv&sort=relevance",
    "/library?key=C major&level_list=Mine&sort=kind:4",
    "/library/7",
    "/library/levels",
    "/keeping",
    "/takes",
)


@pytest.fixture(scope="module")
def large(
    app: FastAPI,
    tmp_path_factory: pytest.TempPathFactory,
    empty_folder: Path,
    demo_facts: Callable[[str], tuple[bytes, PieceFacts]],
) -> Iterator[TestClient]:
    from passagework.studio.studio import open_studio

    folder = tmp_path_factory.mktemp("large") / "studio"
    shutil.copytree(empty_folder, folder)
    with open_studio(folder) as studio:
        enlarge(studio)
        profile = demo_facts("lamplighter")[1].profile
        assert profile
        _give_evidence(studio, dict(profile))
        _give_plan(studio, dict(profile))
        yield with_studio(app, studio)


def _give_evidence(studio: Studio, profile: dict[str, Any]) -> None:
    """Everything that the student studied is judged and measured, and every take was listened to."""
    from passagework.studio.tables_people import Study, Take

    reach = reach_of(studio.students.get(STUDENT))
    data = json.dumps(profile).encode()
    for study in studio.studies.of_student(STUDENT):
        piece = studio.pieces.get(study.piece_id)
        studio.computed.put(Wanted(piece.id, piece.hash, reach).key, data)
    heard = TakeHeard(
        "1", "2", "A piece", date(2026, 2, 1), tuple(range(60)), tuple(range(50)),
        tuple(Shown(f"kind{i}", 0.3, (1, 2, 3, 4)) for i in range(12)),
        tuple(FindingHeard("hesitation", 3, 4, 0.3, ("leap",)) for _ in range(20)),
    )  # fmt: skip
    summary = {"heard": stored.write(heard, HEARD_FORMAT)}
    with studio._db.write() as change:
        mine = update(Study).where(Study.student_id == STUDENT)
        change.session.execute(mine.values(result="secure", result_on=date(2026, 2, 1)))
        change.session.execute(
            update(Take).where(Take.student_id == STUDENT).values(summary=summary)
        )


def _give_plan(studio: Studio, profile: dict[str, Any]) -> None:
    """A plan of three pieces of forty bars each, with fifteen hard places."""
    from passagework.teaching.plan import FORMAT, plan_all
    from passagework.teaching.student import Student
    from passagework.teaching.work import PieceWork, PlanSection, PlanSpot

    measured = from_json(profile)
    assert measured
    works = [
        PieceWork(
            str(number), f"Piece {number}", 120.0,
            tuple(PlanSection(c, f"bars {n * 8 + 1} to {n * 8 + 8}", n * 8, n * 8 + 7, 24.0) for n, c in enumerate("ABCDE")),
            tuple(PlanSpot(f"s{n}", "leap", "Leap", f"bar {n}", (n,), 0.5, 0.5, 0.4, 4.0) for n in range(15)),
            performance=date(2026, 6, 1),
        )
        for number in range(1, 4)
    ]  # fmt: skip
    student = Student("S", weekly_minutes=180, practice_days=frozenset(range(6)))
    plan = plan_all(works, student, {}, date(2026, 3, 1))
    studio.plans.add(STUDENT, None, stored.write(plan, FORMAT))
    assert asdict(plan)["sessions"]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_is_made_at_once(large: TestClient, path: str) -> None:
    assert large.get(path).status_code == 200
    least = float("inf")
    for _ in range(TRIES):
        start = time.process_time()
        large.get(path)
        least = min(least, (time.process_time() - start) * 1000)
        if least <= MOST_MS / 2:
            break
        time.sleep(0.02)
    assert least <= MOST_MS
