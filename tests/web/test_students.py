"""Students on the page: written down, changed, put away, deleted for good."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING

import pytest

from tests.web.conftest import Bring, undo_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from passagework.studio.studio import Studio

MILA = {
    "name": "Mila",
    "age_band": "child",
    "reach_left": "15,5",
    "reach_right": "16",
    "weak_right": ["4", "5"],
    "weekly_minutes": "90",
    "practice_days": ["2", "0"],
    "lesson_weekday": "2",
    "lesson_time": "16:30",
    "lesson_minutes": "30",
}


def test_a_student_is_kept_as_written(client: TestClient, studio: Studio) -> None:
    answer = client.post("/students", data=MILA)
    assert answer.status_code == 303
    student = studio.students.get(1)
    assert student.hands is not None
    assert (student.hands.left.reach_cm, student.hands.right.reach_cm) == (15.5, 16.0)
    assert student.hands.right.weak == {4, 5}
    assert student.hands.left.weak == frozenset()
    assert student.practice_days == (0, 2)
    assert student.lesson_time == time(16, 30)
    page = client.get(answer.headers["location"]).text
    assert "lesson on Wednesday at 16:30 · 90 minutes a week · reach 15.5 and 16 cm" in page


def test_one_measured_hand_stands_for_the_other(client: TestClient, studio: Studio) -> None:
    client.post("/students", data={"name": "Jo", "reach_left": "17"})
    hands = studio.students.get(1).hands
    assert hands is not None
    assert hands.right.reach_cm == 17


def test_a_guess_counts_only_without_a_measure(client: TestClient, studio: Studio) -> None:
    client.post("/students", data={"name": "Jo", "guess": "child"})
    client.post("/students", data={"name": "Al", "guess": "child", "reach_right": "20"})
    client.post("/students", data={"name": "Bo"})
    jo, al, bo = (studio.students.get(i).hands for i in (1, 2, 3))
    assert jo is not None
    assert al is not None
    assert (jo.left.reach_cm, al.left.reach_cm, bo) == (16.0, 20.0, None)


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("name", "  ", "A name is needed"),
        ("reach_left", "abc", "reach should be a number from 10 to 32, not “abc”"),
        ("reach_left", "nan", "reach should be a number"),
        ("reach_right", "99", "reach should be a number"),
        ("weekly_minutes", "12.5", "should be a whole number"),
        ("weekly_minutes", "-3", "minutes should be a number from 0"),
        ("lesson_time", "25:99", "should be a time such as 16:30"),
        ("lesson_weekday", "7", "should be a number from 0 to 6"),
        ("age_band", "toddler", "Choose one of the ages"),
    ],
)
def test_what_cannot_be_meant_is_said_and_the_form_stays(
    client: TestClient, studio: Studio, field: str, value: str, words: str
) -> None:
    answer = client.post("/students", data={**MILA, field: value})
    assert answer.status_code == 422
    assert words in answer.text
    assert 'value="90"' in answer.text or field == "weekly_minutes"
    assert studio.students.all() == ()


def test_a_change_can_be_taken_back(client: TestClient, studio: Studio) -> None:
    client.post("/students", data=MILA)
    changed = client.post("/students/1/details", data={**MILA, "name": "Milo"})
    token = undo_of(client, changed.headers["location"])
    assert studio.students.get(1).name == "Milo"
    answer = client.post("/undo", data={"undo": token, "back": "/students/1"})
    assert answer.headers["location"].startswith("/students/1?notice=")
    assert studio.students.get(1).name == "Mila"


def test_the_form_shows_what_is_kept_and_sending_it_unchanged_keeps_it(
    client: TestClient, studio: Studio
) -> None:
    client.post("/students", data=MILA)
    before = studio.students.get(1)
    page = client.get("/students/1/details").text
    for shown in ('value="15.5"', 'value="16:30"', 'value="Mila"'):
        assert shown in page
    client.post("/students/1/details", data=MILA)
    after = studio.students.get(1)
    assert (after.hands, after.practice_days) == (before.hands, before.practice_days)


def test_names_are_shown_as_text(client: TestClient) -> None:
    client.post("/students", data={"name": "<script>alert(1)</script>"})
    for path in ("/students", "/students/1", "/students/1/details", "/keeping"):
        page = client.get(path).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;" in page


def test_who_comes_no_longer_is_put_away_and_fetched_back(
    client: TestClient, studio: Studio
) -> None:
    client.post("/students", data=MILA)
    client.post("/students/1/away")
    assert studio.students.get(1).archived
    assert "Put away" in client.get("/students").text
    client.post("/students/1/away", data={"back": "true"})
    assert not studio.students.get(1).archived


def test_deleting_needs_the_name_and_is_for_good(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    client.post("/students", data=MILA)
    client.post("/students/1/studies", data={"piece": bring("paper-boat")})
    client.post("/students/1/lessons", data={"on": "2026-03-02", "notes": "A secret of Mila"})
    asked = client.get("/students/1/delete").text
    assert "1 lesson" in asked
    assert client.post("/students/1/delete", data={"name": "mila"}).status_code == 422
    assert studio.students.get(1).name == "Mila"
    answer = client.post("/students/1/delete", data={"name": "Mila", "older": "delete"})
    assert "taken out for good" in answer.text
    assert client.get("/students/1").status_code == 404
    assert [step.label for step in studio.undo.recent()] == ["Added Paper Boat"]
    held = b"".join(p.read_bytes() for p in studio.folder.rglob("*") if p.is_file())
    assert b"secret of Mila" not in held
    for path in ("/", "/students", "/library", "/keeping", "/library/1"):
        assert "Mila" not in client.get(path).text


def test_studies_are_taken_up_judged_and_given_back(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    client.post("/students", data=MILA)
    piece = bring("paper-boat")
    client.post("/students/1/studies", data={"piece": piece})
    study = studio.studies.get(1)
    assert (study.status, study.since is not None) == ("learning", True)
    client.post("/students/1/studies/1", data={"status": "finished", "result": "secure"})
    study = studio.studies.get(1)
    assert study.result == "secure"
    assert study.result_on is not None
    bad = client.post("/students/1/studies/1", data={"status": "finished", "since": "yesterday"})
    assert bad.status_code == 422
    assert "should be a day such as" in bad.text
    gone = client.post("/students/1/studies/1/delete", data={"back": "//evil.example"})
    assert gone.headers["location"].startswith("/students/1?")
    assert studio.studies.of_student(1) == ()


@pytest.mark.parametrize("path", ["/students/9", "/students/9/details", "/students/9/skills", "/students/9/plan", "/students/9/lessons/new", "/students/9/delete", "/students/0", "/students/99999999999999999999"])  # fmt: skip
def test_who_is_not_there_is_a_page_that_says_so(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in {404, 422}
    assert "<h1>" in answer.text
