"""The library on the page: scores brought in, looked for, noted on, placed on levels."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

import pytest

from passagework.web.library.notes import NotesForm, attachment, filled
from passagework.web.library.question import Question
from tests.web.conftest import DEMO, PATIENCE, Bring, follow, undo_of

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from passagework.studio.studio import Studio

JSON = {"accept": "application/json"}


def arrived(client: TestClient, batch: str) -> list[dict[str, Any]]:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        told = client.get(f"/library/arrivals/{batch}", headers=JSON).json()
        if told["over"]:
            rows: list[dict[str, Any]] = told["rows"]
            return rows
        time.sleep(0.05)
    raise AssertionError("the scores did not arrive")


def test_many_scores_are_brought_at_once_each_with_its_own_line(
    client: TestClient, studio: Studio
) -> None:
    boat = (DEMO / "paper-boat.musicxml").read_bytes()
    files = [
        ("files", ("C:\\scores\\paper-boat.musicxml", boat)),
        ("files", ("broken.xml", b"<score-partwise")),
        ("files", ("letter.txt", b"Dear teacher")),
        ("files", ("lamp.musicxml", (DEMO / "lamplighter.musicxml").read_bytes())),
    ]
    answer = client.post("/library/scores", files=files)
    assert answer.status_code == 303
    batch = answer.headers["location"].rsplit("/", 1)[1]
    rows = arrived(client, batch)
    assert [r["state"] for r in rows] == ["done", "failed", "failed", "done"]
    assert rows[0]["name"] == "paper-boat.musicxml"
    assert all(r["words"] for r in rows)
    piece = studio.pieces.get(rows[0]["piece"])
    assert piece.title == "Paper Boat"
    assert piece.facts.profile is not None
    assert piece.facts.numbers["descriptor:notes"] > 0
    page = client.get(f"/library/arrivals/{batch}").text
    assert "Paper Boat" in page
    known = client.post("/library/scores", files=[("files", ("again.xml", boat))], headers=JSON)
    assert arrived(client, known.json()["batch"])[0]["state"] == "known"
    assert studio.pieces.score(piece.id) == boat


def test_a_batch_may_come_in_several_requests(client: TestClient) -> None:
    one = client.post("/library/scores", files={"files": ("a.txt", b"a")}, headers=JSON)
    batch = one.json()["batch"]
    two = {"files": ("b.txt", b"b")}
    client.post("/library/scores", files=two, data={"batch": batch}, headers=JSON)
    assert [r["name"] for r in arrived(client, batch)] == ["a.txt", "b.txt"]
    late = client.post("/library/scores", files=two, data={"batch": "unknown"}, headers=JSON)
    assert late.status_code == 404


def test_no_file_at_all_is_said(client: TestClient) -> None:
    assert client.post("/library/scores", files={"files": ("", b"")}).status_code == 422
    assert client.post("/library/scores").status_code == 422


def test_it_is_searched_narrowed_and_sorted(client: TestClient, bring: Bring) -> None:
    for name in ("paper-boat", "lamplighter"):
        bring(name)
    both = client.get("/library").text
    assert both.index("Paper Boat") < both.index("The Lamplighter")
    assert "Lamplighter" not in client.get("/library?text=paper").text
    assert "Paper Boat" not in client.get("/library?metre=3/4").text
    assert "No piece fits" in client.get("/library?text=waterfall").text
    down = client.get("/library?sort=bars&down=true").text
    assert down.index("The Lamplighter") < down.index("Paper Boat")
    assert "should be a number" in client.get("/library?bars_from=many").text
    assert client.get("/library?sort=nonsense").status_code == 200
    assert client.get("/library?sort=kind:nonsense").status_code == 200
    assert client.get("/library?page=999").status_code == 200


def test_notes_are_kept_searched_and_taken_back(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    piece = bring("paper-boat")
    form = {
        "own_title": "The Little Boat",
        "tags": "water, calm , water",
        "notes": "for spring",
        "edition_title": ["Blue Book", "", "Green Book"],
        "edition_publisher": ["A", "lost", "C"],
        "edition_place": ["12", "", "3"],
        "edition_notes": ["", "", ""],
        "background_text": ["Written by a lake."],
        "background_source": ["The composer"],
    }
    done = client.post(f"/library/{piece}", data=form)
    known = studio.pieces.get(piece)
    assert known.title == "The Little Boat"
    assert known.tags == ("water", "calm")
    assert [(e.title, e.publisher, e.place) for e in known.editions] == [("Blue Book", "A", "12"), ("Green Book", "C", "3")]  # fmt: skip
    assert known.backgrounds[0].source == "The composer"
    assert "Little Boat" in client.get("/library?text=lake").text
    assert "Little Boat" in client.get("/library?tag=calm").text
    assert "Little Boat" in client.get("/library?collection=Green Book").text
    assert filled(known).details().editions == known.editions
    client.post("/undo", data={"undo": undo_of(client, done.headers["location"])})
    assert studio.pieces.get(piece).title == "Paper Boat"


def test_rows_of_unequal_length_do_no_harm() -> None:
    form = NotesForm(edition_title=("a", "b"), edition_publisher=("x",), level_list=("L",))
    assert [e.publisher for e in form.details().editions] == ["x", ""]
    assert form.details().levels == ()


def test_levels_are_typed_in_or_read_from_a_table(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    piece = bring("paper-boat")
    client.post("/library/levels", data={"name": "Mine", "labels": "first\nsecond\n\n"})
    assert studio.levels.lists()[0].labels == ("first", "second")
    client.post(f"/library/{piece}", data={"level_list": ["Mine"], "level_label": ["second"]})
    assert studio.pieces.get(piece).levels[0].label == "second"
    table = "title,level\nPaper Boat,first\nWaterfall,second\n"
    read = client.post("/library/levels/table/read", data={"list_name": "Mine"}, files={"file": ("l.csv", table)})  # fmt: skip
    assert "1 piece placed" in read.text
    assert "Waterfall" in read.text
    assert studio.pieces.get(piece).levels[0].label == "first"
    bad = client.post("/library/levels/table/read", data={"list_name": "Mine"}, files={"file": ("l.csv", "a,b\n1,2\n")})  # fmt: skip
    assert bad.status_code == 422
    assert "needs a heading" in bad.text
    assert client.post("/library/levels", data={"name": "Mine"}).status_code == 422
    number = studio.levels.lists()[0].id
    client.post(f"/library/levels/{number}", data={"name": "Ours", "labels": "first\nthird"})
    assert "Ours" in client.get("/library/levels").text
    assert "Paper Boat" in client.get("/library?level_list=Ours&level=first").text
    client.post(f"/library/levels/{number}/delete")
    assert studio.levels.lists() == ()


def test_a_deleted_piece_comes_back(client: TestClient, studio: Studio, bring: Bring) -> None:
    piece = bring("paper-boat")
    client.post(f"/library/{piece}/delete")
    assert "Paper Boat" not in client.get("/library").text
    assert "Paper Boat" in client.get("/library?deleted=true").text
    client.post(f"/library/{piece}/fetch")
    assert studio.pieces.get(piece).title == "Paper Boat"


def test_the_file_comes_back_as_it_was_brought_and_never_as_a_page(
    client: TestClient, bring: Bring
) -> None:
    piece = bring("paper-boat")
    answer = client.get(f"/library/{piece}/score")
    assert answer.content == (DEMO / "paper-boat.musicxml").read_bytes()
    assert answer.headers["content-type"] == "application/octet-stream"
    assert answer.headers["content-disposition"].startswith("attachment")


def test_a_better_file_takes_the_place_of_the_score(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    piece = bring("paper-boat")
    better = (DEMO / "paper-boat.musicxml").read_bytes().replace(b"Paper Boat", b"Paper Ship")
    answer = client.post(f"/library/{piece}/score", files={"file": ("ship.musicxml", better)})
    assert follow(client, answer.headers["location"])["state"] == "done"
    assert studio.pieces.get(piece).title == "Paper Ship"
    assert client.post(f"/library/{piece}/score", files={"file": ("x", b"")}).status_code == 422


@pytest.mark.parametrize(
    "name", ['a"b\r\nx: y.xml', "Prélude – Nº 5.xml", "", "\u202egnp.exe", "a" * 300]
)
def test_a_download_s_name_is_one_header(name: str) -> None:
    value = attachment(name)["content-disposition"]
    value.encode("latin-1")
    assert "\n" not in value
    assert "\r" not in value
    assert value.count('"') == 2


def test_a_question_and_its_address_are_the_same() -> None:
    asked = Question(text="blue & green", tag="a=b", down=True, sort="bars", student=3, page=4)
    again = dict(p.split("=", 1) for p in asked.address().split("?")[1].split("&"))
    assert again == {"text": "blue+%26+green", "tag": "a%3Db", "down": "true", "sort": "bars", "student": "3"}  # fmt: skip
    assert "page=7" in asked.address(page=7)
    assert Question().address() == "/library"
