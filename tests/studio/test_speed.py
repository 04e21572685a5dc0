"""Every question that a page asks of a studio of 60 students, 300 pieces and 2,000 takes is answered in 20 ms of work."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest

from passagework.studio.piece_records import Between, PieceQuery
from passagework.studio.studio import Studio
from tests.studio.conftest import Clock, open_empty
from tests.studio.large import enlarge

MOST_MS = 20.0

MONDAY = date(2026, 3, 2)

QUESTIONS: dict[str, Callable[[Studio], object]] = {
    "the day": lambda s: s.day(MONDAY),
    "all students": lambda s: s.students.all(),
    "a student": lambda s: s.students.get(7),
    "a student's studies": lambda s: s.studies.of_student(7),
    "all studies": lambda s: s.studies.all(),
    "a student's takes": lambda s: s.takes.of_student(7),
    "a student's lessons": lambda s: s.lessons.of_student(7, limit=10),
    "a student's plan": lambda s: s.plans.latest(7),
    "a student's skills": lambda s: s.skills.of_student(7),
    "takes to hear": lambda s: s.takes.to_hear(),
    "takes of a piece": lambda s: s.takes.of_piece(7),
    "a take's result": lambda s: s.takes.result(7),
    "a piece": lambda s: s.pieces.get(7),
    "a piece's edits": lambda s: s.edits.of_piece(1, 7),
    "the library": lambda s: s.library.search(PieceQuery()),
    "a word": lambda s: s.library.search(PieceQuery(text="riv", sort="relevance")),
    "filters": lambda s: s.library.search(
        PieceQuery(
            text="riv",
            key="C major",
            bars=Between(8, 90),
            level_list="Mine",
            numbers={"kind:3": Between(0.2, 0.8)},
            sort="kind:4",
            descending=True,
        )
    ),
    "composers": lambda s: s.library.composers(),
    "tags": lambda s: s.library.tags(),
    "lists of levels": lambda s: s.levels.lists(),
    "latest changes": lambda s: s.undo.recent(),
}


@pytest.fixture(scope="module")
def large(tmp_path_factory: pytest.TempPathFactory, empty: Path) -> Iterator[Studio]:
    with open_empty(tmp_path_factory.mktemp("large") / "s", empty, Clock()) as studio:
        enlarge(studio)
        yield studio


def work_ms(question: Callable[[], object], enough: float = 0.0) -> float:
    """Milliseconds of processor time, the least of some tries: other programs share the machine."""
    question()
    least = float("inf")
    for _ in range(25):
        time.sleep(0.02)  # so that the tries do not all fall into one busy moment of the machine
        start = time.process_time()
        question()
        least = min(least, (time.process_time() - start) * 1000)
        if least <= enough:
            break
    return least


@pytest.mark.parametrize("name", QUESTIONS)
def test_a_question_is_answered_at_once(large: Studio, name: str) -> None:
    assert work_ms(lambda: QUESTIONS[name](large), MOST_MS) <= MOST_MS


def test_a_click_is_kept_at_once(large: Studio) -> None:
    def click() -> None:
        done = large.edits.put(1, "hidden-spot", "s9", {})
        large.undo.undo(done.undo)

    assert work_ms(click, 2 * MOST_MS) <= 2 * MOST_MS


@pytest.mark.nightly
def test_a_hundred_thousand_pieces(tmp_path_factory: pytest.TempPathFactory, empty: Path) -> None:
    with open_empty(tmp_path_factory.mktemp("huge") / "s", empty, Clock()) as studio:
        enlarge(studio, students=1, pieces=100_000, takes=10)
        for sort in ("title", "level", "kind:4", "relevance"):
            query = PieceQuery(text="river 77", sort=sort)
            assert work_ms(lambda q=query: studio.library.search(q)) <= 500  # type: ignore[misc]
            query = PieceQuery(sort=sort, numbers={"kind:3": Between(0.2, 0.3)}, page=20)
            assert work_ms(lambda q=query: studio.library.search(q)) <= 1000  # type: ignore[misc]
