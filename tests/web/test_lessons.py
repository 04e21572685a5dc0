"""Lessons and the page of a day."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.web.conftest import Bring, undo_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from passagework.studio.studio import Studio

WEDNESDAY, NEXT = "2026-03-04", "2026-03-11"


def test_what_was_promised_stands_at_the_head_of_the_next_lesson(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    client.post("/students", data={"name": "Mila", "lesson_weekday": "2", "lesson_time": "16:30"})
    client.post("/students", data={"name": "Jo", "lesson_weekday": "2", "lesson_time": "15:00"})
    client.post("/students/1/studies", data={"piece": bring("paper-boat")})
    client.post("/students/1/lessons", data={"on": WEDNESDAY, "promised": "bars 5 to 8 by heart"})
    page = client.get(f"/?on={NEXT}").text
    assert "Wednesday, 11 March 2026" in page
    assert page.index("Jo</a>") < page.index("Mila</a>")
    assert "bars 5 to 8 by heart" in page
    assert "Paper Boat" in page
    form = client.get(f"/students/1/lessons/new?on={NEXT}").text
    assert "bars 5 to 8 by heart" in form
    assert f'value="{NEXT}"' in form
    assert studio.lessons.get(1).promised == "bars 5 to 8 by heart"


def test_a_lesson_is_changed_deleted_and_fetched_back(client: TestClient, studio: Studio) -> None:
    client.post("/students", data={"name": "Mila"})
    client.post("/students/1/lessons", data={"on": WEDNESDAY, "at": "16:30", "notes": "scales"})
    client.post("/lessons/1", data={"on": WEDNESDAY, "notes": "scales in thirds"})
    assert studio.lessons.get(1).notes == "scales in thirds"
    gone = client.post("/lessons/1/delete")
    assert client.get("/lessons/1").status_code == 404
    token = undo_of(client, gone.headers["location"])
    client.post("/undo", data={"undo": token})
    assert studio.lessons.get(1).notes == "scales in thirds"


def test_a_lesson_needs_a_day(client: TestClient, studio: Studio) -> None:
    client.post("/students", data={"name": "Mila"})
    for day in ("", "soon", "2026-02-30"):
        answer = client.post("/students/1/lessons", data={"on": day, "notes": "kept in the form"})
        assert answer.status_code == 422
        assert "kept in the form" in answer.text
    assert studio.lessons.of_student(1) == ()


def test_the_day_can_be_any_and_says_when_it_is_none(client: TestClient) -> None:
    assert client.get("/?on=2026-02-30").status_code == 422
    for day in ("0001-01-01", "9999-12-31", "2026-02-28"):
        assert client.get(f"/?on={day}").status_code == 200


def test_an_empty_studio_says_how_to_begin(client: TestClient) -> None:
    page = client.get("/").text
    assert 'href="/students/new"' in page
    assert 'href="/library"' in page


def test_taking_back_twice_is_refused_in_words(client: TestClient) -> None:
    client.post("/students", data={"name": "Mila"})
    done = client.post("/students/1/lessons", data={"on": WEDNESDAY})
    token = undo_of(client, done.headers["location"])
    assert client.post("/undo", data={"undo": token}).status_code == 303
    again = client.post("/undo", data={"undo": token})
    assert again.status_code == 409
    assert "taken back already" in again.text
    assert client.post("/undo", data={"undo": "nothing"}).status_code == 404
    by_script = client.post("/undo.json", json={"undo": "nothing"}, headers={"accept": "*/*"})
    assert by_script.status_code == 404
    assert "error" in by_script.json()
