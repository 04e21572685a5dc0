"""Pieces placed on the teacher's own scale from the page; the way to a piece through the library."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from passagework.studio.records import StudyDetails
from passagework.web.library.placing_work import ToPlace, placing_job
from passagework.web.words import today
from tests.web.conftest import PATIENCE, Bring, follow

if TYPE_CHECKING:
    from collections.abc import Callable

    from starlette.testclient import TestClient

    from passagework.studio.piece_records import PieceFacts
    from passagework.studio.studio import Studio


def quiet(_share: float | None, _words: str = "") -> None:
    return


def harder(profile: dict[str, Any], times: float) -> dict[str, Any]:
    """A profile whose every descriptor is `times` as high."""
    copied: dict[str, Any] = json.loads(json.dumps(profile))
    descriptors = copied["demands"]["descriptors"]
    copied["demands"]["descriptors"] = {name: value * times for name, value in descriptors.items()}
    return copied


def test_a_scale_is_learned_and_a_piece_between_is_placed_between(
    demo_facts: Callable[[str], tuple[bytes, PieceFacts]],
) -> None:
    profile = dict(demo_facts("paper-boat")[1].profile or {})
    graded = tuple(
        ToPlace(n + 1, f"P{n}", str(n // 5 + 1), harder(profile, 1.0 + 0.35 * n)) for n in range(15)
    )
    asked = ToPlace(99, "New", "", harder(profile, 1.0 + 0.35 * 7))
    told = json.loads(placing_job(quiet, ("1", "2", "3"), (*graded, asked)))
    rows = {row["id"]: row for row in told["rows"]}
    assert told["ranked_only"] == ""
    assert rows[99]["level"] == "2"
    assert rows[1]["score"] < rows[99]["score"] < rows[15]["score"]
    assert {n["level"] for n in rows[99]["neighbours"]} == {"2"}
    assert rows[15]["reasons"]


def test_with_few_placed_pieces_it_ranks_and_says_so(
    client: TestClient, studio: Studio, bring: Bring
) -> None:
    boat, lamp = bring("paper-boat"), bring("lamplighter")
    client.post("/library/levels", data={"name": "Mine", "labels": "first\nsecond"})
    client.post(f"/library/{boat}", data={"level_list": ["Mine"], "level_label": ["first"]})
    assert client.get("/library/levels/1/placed").status_code == 404
    answer = client.post("/library/levels/1/place")
    assert follow(client, answer.headers["location"])["state"] == "done"
    page = client.get("/library/levels/1/placed").text
    assert "one graded piece is too few" in page
    scores = [studio.pieces.get(n).level_score for n in (boat, lamp)]
    assert None not in scores
    client.post(f"/library/levels/1/placed/{lamp}", data={"label": "second"})
    assert studio.pieces.get(lamp).levels[0].label == "second"
    assert client.post(f"/library/levels/9/placed/{lamp}").status_code == 404


def test_the_way_to_a_piece(client: TestClient, studio: Studio, bring: Bring) -> None:
    goal, boat = bring("lamplighter"), bring("paper-boat")
    client.post("/students", data={"name": "Mila", "reach_left": "16"})
    studio.studies.add(
        StudyDetails(student_id=1, piece_id=boat, result="secure", result_on=today())
    )
    jobs = client.app.state.jobs  # type: ignore[attr-defined]
    path = f"/students/1/ready/{goal}/stones"
    for _ in range(2):
        client.get(path)
        for job in jobs.unfinished():
            assert jobs.wait(job.id, PATIENCE).state == "done", jobs.get(job.id).error
    page = client.get(path).text
    assert "The way to The Lamplighter" in page
    assert "no other piece that is measured and not studied yet" in page
    assert jobs.unfinished() == ()
    bring("evening-ferry")
    client.get(path)
    for job in jobs.unfinished():
        assert jobs.wait(job.id, PATIENCE).state == "done", jobs.get(job.id).error
    assert "1 measured piece" in client.get(path).text
