"""From evidence to readiness, from readiness to the plan, from the plan to one sheet, by the page and its workers."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from passagework.studio.records import StudyDetails
from passagework.teaching.progress import ItemResult
from passagework.web.teaching.evidence import known_student
from passagework.web.teaching.plan_view import view
from passagework.web.teaching.plan_work import read_plan
from passagework.web.teaching.practised import days_of, results_of
from passagework.web.words import today
from tests.web.conftest import PATIENCE, Bring, follow

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from passagework.studio.studio import Studio
    from passagework.teaching.plan import Plan
    from passagework.web.jobs import Jobs

MILA = {
    "name": "Mila",
    "age_band": "child",
    "reach_left": "16",
    "weekly_minutes": "140",
    "practice_days": ["0", "1", "2", "3", "4", "5", "6"],
}


@pytest.fixture
def piece(client: TestClient, bring: Bring) -> int:
    client.post("/students", data=MILA)
    return bring("lamplighter")


def jobs_of(client: TestClient) -> Jobs:
    jobs: Jobs = client.app.state.jobs  # type: ignore[attr-defined]
    return jobs


def all_done(client: TestClient) -> None:
    jobs = jobs_of(client)
    for job in jobs.unfinished():
        assert jobs.wait(job.id, PATIENCE).state == "done", jobs.get(job.id).error


def planned(client: TestClient, studio: Studio) -> Plan:
    answer = client.post("/students/1/plan")
    assert answer.status_code == 303
    assert follow(client, answer.headers["location"])["state"] == "done"
    return latest(studio)


def latest(studio: Studio) -> Plan:
    record = studio.plans.latest(1)
    assert record
    plan = read_plan(record.body)
    assert plan
    return plan


def test_readiness_is_worked_out_once_and_follows_the_evidence(
    client: TestClient, studio: Studio, piece: int
) -> None:
    waiting = client.get(f"/students/1/ready/{piece}")
    assert "worked out once" in waiting.text
    all_done(client)
    page = client.get(f"/students/1/ready/{piece}").text
    assert "nothing is known" in page
    assert re.search(r"bars? \d+", page)
    assert jobs_of(client).unfinished() == ()
    studio.studies.add(
        StudyDetails(student_id=1, piece_id=piece, result="secure", result_on=today())
    )
    page = client.get(f"/students/1/ready/{piece}").text
    assert "Everything that this piece asks has been played securely" in page
    assert "nothing is known" not in page


def test_the_teacher_s_word_stands_above_the_evidence_until_withdrawn(
    client: TestClient, studio: Studio, piece: int
) -> None:
    studio.studies.add(
        StudyDetails(student_id=1, piece_id=piece, result="secure", result_on=today())
    )
    client.get("/students/1/skills")
    all_done(client)
    page = client.get("/students/1/skills").text
    assert "The Lamplighter is secure" in page
    client.post("/students/1/skills/leap", data={"value": "2,5", "why": "too hasty"})
    page = client.get("/students/1/skills").text
    assert "secure up to 2.5 of 10" in page
    assert "too hasty" in page
    assert client.post("/students/1/skills/leap", data={"value": "11"}).status_code == 422
    assert client.post("/students/1/skills/leap", data={"value": ""}).status_code == 422
    assert client.post("/students/1/skills/juggling", data={"value": "5"}).status_code == 404
    client.post("/students/1/skills/leap/withdraw")
    assert "too hasty" not in client.get("/students/1/skills").text
    assert client.post("/students/1/skills/leap/withdraw").status_code == 404


def test_a_plan_needs_a_piece_and_minutes(client: TestClient, studio: Studio, bring: Bring) -> None:
    client.post("/students", data={"name": "Jo"})
    answer = client.post("/students/1/plan")
    assert answer.status_code == 422
    assert "No piece is at work; choose a piece first." in answer.text
    studio.studies.add(StudyDetails(student_id=1, piece_id=bring("paper-boat")))
    answer = client.post("/students/1/plan")
    assert "How much Jo practises is not written down" in answer.text


def test_the_plan_is_made_shown_moved_by_a_lesson_and_printed(
    client: TestClient, studio: Studio, piece: int
) -> None:
    day = today() + timedelta(days=80)
    client.post("/students/1/studies", data={"piece": piece, "performance_on": day.isoformat()})
    plan = planned(client, studio)
    assert plan.work(str(piece)).performance == day
    assert plan.work(str(piece)).spots[0].exercises
    page = client.get("/students/1/plan").text
    assert "The Lamplighter" in page
    assert "This week" in page
    shown = view(plan, today())
    assert sum(week.minutes for week in shown.weeks) == sum(s.minutes for s in plan.sessions)
    assert sum(m for row in shown.strip for _, m in row.cells) == sum(
        s.minutes for s in plan.sessions
    )

    sheet = client.get("/students/1/assignment").text
    assert "This week: The Lamplighter" in sheet
    all_done(client)
    client.post("/students/1/assignment", data={"note": "Sing the tune first."})
    assert "Sing the tune first." in client.get("/students/1/assignment").text
    assert jobs_of(client).unfinished() == ()
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792))):
        answer = client.get(f"/students/1/assignment.pdf?paper={paper}")
        assert answer.headers["content-type"] == "application/pdf"
        import pypdfium2

        document = pypdfium2.PdfDocument(io.BytesIO(answer.content))
        assert len(document) == 1
        assert tuple(map(round, document[0].get_size())) == size
        assert "Sing the tune first." in document[0].get_textpage().get_text_range()
    assert client.get("/students/1/assignment.pdf?paper=wall").status_code == 422

    first = plan.sessions[0]
    form = client.get("/students/1/lessons/new").text
    assert f'value="{first.item}"' in form
    client.post(
        "/students/1/lessons",
        data={"on": today().isoformat(), "item": [first.item], "went": ["not"]},
    )
    all_done(client)
    again = latest(studio)
    assert studio.plans.latest(1).version > 1  # type: ignore[union-attr]
    assert again.states[first.item].urgent
    assert again.sessions[0].item == first.item


def test_a_hidden_place_is_not_planned_for(client: TestClient, studio: Studio, piece: int) -> None:
    from passagework.hands.hand import Hand, Hands
    from passagework.score import read_score
    from passagework.teaching.edit_rows import to_row
    from passagework.teaching.edits import HiddenSpot, index_of, name_of
    from passagework.web.piece.hold import prepared

    client.post("/students/1/studies", data={"piece": piece})
    before = planned(client, studio).work(str(piece)).spots
    data = studio.pieces.score(piece)
    hands = Hands.alike(Hand(16.0))
    ready = prepared(data, "lamplighter.musicxml", hands)
    index = index_of(read_score(data, "lamplighter.musicxml").piece)
    spot = next(s for s in ready.spots if s.id == before[0].id)
    kind, key, payload = to_row(HiddenSpot(name_of(spot, index)))
    studio.edits.put(piece, kind, key, payload, student_id=1)
    after = planned(client, studio).work(str(piece)).spots
    assert {s.id for s in before} - {s.id for s in after} == {before[0].id}


def test_pieces_that_were_never_measured_count_when_the_plan_is_made(
    client: TestClient, studio: Studio, piece: int, bring: Bring
) -> None:
    client.post("/students/1/studies", data={"piece": piece})
    plain = planned(client, studio)
    boat = bring("paper-boat")
    studio.studies.add(
        StudyDetails(
            student_id=1, piece_id=piece, status="finished", result="secure", result_on=today()
        )
    )
    studio.studies.add(
        StudyDetails(
            student_id=1, piece_id=boat, status="finished", result="secure", result_on=today()
        )
    )
    assert known_student(studio, 1).missing
    after = planned(client, studio)
    assert after.needs[0].needed < plain.needs[0].needed


def test_an_assignment_without_a_plan_says_so(client: TestClient, piece: int) -> None:
    assert piece
    assert "there is no plan yet" in client.get("/students/1/assignment").text
    assert client.get("/students/1/assignment.pdf").status_code == 404
    assert client.post("/students/1/assignment", data={"note": "x"}).status_code == 422
    assert client.get("/students/1/assignment/1.svg").status_code == 404


def test_what_was_said_of_things_and_days_is_read_as_far_as_it_is_said() -> None:
    day = today()
    rows = results_of(["a", "b", "c"], ["well", "", "not"], day)
    assert rows == (ItemResult("a", True, day), ItemResult("c", False, day))
    assert results_of(["a"], ["nonsense"], day) == ()
    assert days_of(["2026-03-04", "soon", ""]) == (day.replace(2026, 3, 4),)


def test_a_plan_of_another_version_is_said_to_be_one(
    client: TestClient, studio: Studio, piece: int
) -> None:
    client.post("/students/1/studies", data={"piece": piece})
    studio.plans.add(1, None, {"format": "passagework.plan/999"})
    assert "another version" in client.get("/students/1/plan").text
    assert planned(client, studio).sessions
