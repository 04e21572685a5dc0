"""Takes brought in, listened to by a worker, reported, and what they change."""

from __future__ import annotations

import io
import re
import wave
from collections.abc import Callable, Sequence
from datetime import date, timedelta
from functools import cache
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.guide.take_page import first_things
from passagework.hands.hand import Hand, Hands
from passagework.listening.simulate.faults import Fault, Hesitation, WrongNote
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.listening.simulate.play import play
from passagework.score.read import read_score
from passagework.spots.context import Context
from passagework.studio.records import StudentDetails, StudyDetails, TakeDetails
from passagework.web.takes.weeks import NEAREST, weeks_of
from passagework.web.takes.work import RESULT_VERSION
from tests.web.conftest import DEMO, follow

if TYPE_CHECKING:
    from starlette.testclient import TestClient

    from passagework.studio.studio import Studio

Bring = Callable[[str], int]


@cache
def context_of(name: str) -> Context:
    return Context(read_score((DEMO / f"{name}.musicxml").read_bytes(), name).piece)


def take_of(name: str, faults: Sequence[Fault] = (), **more: Any) -> bytes:
    return to_midi_bytes(play(context_of(name), seed=3, faults=faults, **more).take)


def a_note(name: str, bar: int) -> str:
    """The first note of a bar."""
    return next(n.id for n in context_of(name).piece.notes if n.bar == bar)


@pytest.fixture
def mila(studio: Studio, bring: Bring) -> int:
    """A student with a piece at work."""
    student = studio.students.add(
        StudentDetails(
            name="Mila",
            age_band="child",
            hands=Hands(Hand(16.0), Hand(16.0)),
            weekly_minutes=120,
            practice_days=(0, 1, 2, 3, 4, 5),
        )
    )
    piece = bring("paper-boat")
    studio.studies.add(
        StudyDetails(
            student_id=student.id,
            piece_id=piece,
            since=date.today(),
            performance_on=date.today() + timedelta(60),
        )
    )
    return student.id


def send(client: TestClient, data: bytes, name: str = "take.mid", **fields: Any) -> Any:
    values = {"student": 1, "piece": 1, **fields}
    return client.post("/takes", data=values, files={"file": (name, data)})


def heard(client: TestClient, data: bytes, **fields: Any) -> str:
    """The page of a take, after it was listened to."""
    answer = send(client, data, **fields)
    assert answer.status_code == 303
    return settled(client, answer.headers["location"])


def settled(client: TestClient, address: str) -> str:
    """A page, when none of its jobs goes on any more."""
    while True:
        text = client.get(address).text
        jobs = re.findall(r'data-job="([^"]+)"', text)
        if not jobs:
            return text
        for job in jobs:
            follow(client, f"/jobs/{job}")


@pytest.mark.usefixtures("mila")
def test_a_take_is_kept_and_reported(client: TestClient, studio: Studio) -> None:
    note = a_note("paper-boat", 4)
    label = context_of("paper-boat").piece.bars[4].label
    data = take_of("paper-boat", [Hesitation(note, 2.5)])
    text = heard(client, data)
    take = studio.takes.get(1)
    assert studio.takes.file(1) == data
    assert (take.kind, take.status, take.heard_by_teacher) == ("midi", "measured", False)
    assert "To say first" in text
    assert "Hesitation" in text
    assert f"bar {label}" in text
    assert take.summary["findings"]["hesitation"] == 1
    result = studio.takes.result(1)
    assert result is not None
    assert result["take"]["format"] == "passagework.take/1"
    assert client.get("/takes/1/file").content == data


@pytest.mark.usefixtures("mila")
def test_what_was_played_stands_in_the_music(client: TestClient) -> None:
    note = context_of("paper-boat").piece.by_id[a_note("paper-boat", 4)]
    text = heard(client, take_of("paper-boat", [WrongNote(note.id, note.pitch.midi + 2)]))
    assert '<figure class="take-music"' in text
    assert "played " in text
    assert " style=" not in text


@pytest.mark.usefixtures("mila")
@pytest.mark.parametrize(
    "result", [{}, {"take": [], "page": 3}, {"take": {}, "page": {"music": {}}}]
)
def test_a_result_that_is_none_can_be_made_again(
    client: TestClient, studio: Studio, result: dict[str, Any]
) -> None:
    """An archive may bring anything."""
    studio.takes.add(
        take_of("paper-boat", bars=(0, 5)), TakeDetails(student_id=1, piece_id=1, kind="midi")
    )
    studio.takes.set_result(
        1, "measured", {"recognised": True, "findings": []}, result, RESULT_VERSION
    )
    assert "Listen again" in client.get("/takes/1").text
    assert client.get("/students/1/takes").status_code == 200
    client.post("/takes/1/listen")
    assert "To say first" in settled(client, "/takes/1")


@pytest.mark.usefixtures("mila")
def test_without_its_drawings_a_report_is_still_one(client: TestClient, studio: Studio) -> None:
    heard(client, take_of("paper-boat", [Hesitation(a_note("paper-boat", 4), 2.5)]))
    studio.computed.clear()
    text = client.get("/takes/1").text
    assert "To say first" in text
    assert "<figure" not in text


@pytest.mark.usefixtures("mila")
def test_a_take_changes_skills_and_plan(client: TestClient, studio: Studio) -> None:
    made = client.post("/students/1/plan")
    assert follow(client, made.headers["location"])["state"] == "done"
    assert "nothing is known" in client.get("/students/1/skills").text
    notes = [a_note("paper-boat", bar) for bar in range(2, 9)]
    text = heard(client, take_of("paper-boat", [WrongNote(n) for n in notes]))
    plan = studio.plans.latest(1)
    assert plan is not None
    assert (plan.version, plan.reason) == (2, "after a take")
    assert "comes back sooner" in text
    assert "heard" in studio.takes.get(1).summary
    assert "Takes" in client.get("/students/1/skills").text


@pytest.mark.usefixtures("mila")
def test_an_older_take_does_not_set_the_plan_back(client: TestClient, studio: Studio) -> None:
    heard(client, take_of("paper-boat"))
    made = client.post("/students/1/plan")
    assert follow(client, made.headers["location"])["state"] == "done"
    before = (date.today() - timedelta(30)).isoformat()
    notes = [a_note("paper-boat", bar) for bar in range(2, 9)]
    text = heard(client, take_of("paper-boat", [WrongNote(n) for n in notes]), on=before)
    plan = studio.plans.latest(1)
    assert plan is not None
    assert plan.version == 1
    assert "comes back sooner" not in text


@pytest.mark.usefixtures("mila")
def test_takes_are_compared(client: TestClient) -> None:
    before = (date.today() - timedelta(14)).isoformat()
    note = a_note("paper-boat", 4)
    heard(client, take_of("paper-boat", [Hesitation(note, 2.5)], tempo_scale=0.7), on=before)
    text = heard(client, take_of("paper-boat"))
    found = re.search(
        r'hesitations</th><td class="figure">(\d+)</td><td class="figure">(\d+)', text
    )
    assert found
    assert (found[1], found[2]) == ("1", "0")
    page = client.get("/students/1/takes").text
    assert page.count('class="mark"') == 2
    assert "style=" not in page


@pytest.mark.usefixtures("mila")
def test_only_bars_that_both_have_are_compared(client: TestClient) -> None:
    before = (date.today() - timedelta(14)).isoformat()
    heard(client, take_of("paper-boat", bars=(0, 5)), on=before)
    notes = [a_note("paper-boat", bar) for bar in (4, 10)]
    text = heard(client, take_of("paper-boat", [Hesitation(n, 2.5) for n in notes]))
    assert "Only the 6 bars that both have" in text
    found = re.search(
        r'hesitations</th><td class="figure">(\d+)</td><td class="figure">(\d+)', text
    )
    assert found
    assert (found[1], found[2]) == ("0", "1")


@pytest.mark.usefixtures("mila")
def test_another_piece_is_said_to_be_one(client: TestClient, studio: Studio) -> None:
    text = heard(client, take_of("evening-ferry"))
    assert "does not sound like" in text
    assert "heard" not in studio.takes.get(1).summary
    assert "not recognised" in client.get("/students/1/takes").text


@pytest.mark.usefixtures("mila")
def test_a_midi_take_can_be_heard(client: TestClient) -> None:
    soundfile = pytest.importorskip("soundfile")
    pytest.importorskip("midirenderer")
    take = play(context_of("paper-boat"), seed=3, bars=(0, 3)).take
    text = heard(client, to_midi_bytes(take))
    assert 'src="/takes/1/sound.ogg"' in text
    answer = client.get("/takes/1/sound.ogg")
    assert answer.headers["content-type"] == "audio/ogg"
    samples, rate = soundfile.read(io.BytesIO(answer.content))
    assert take.length <= len(samples) / rate <= take.length + 2
    assert (samples**2).mean() ** 0.5 > 0.003
    assert client.get("/takes/1/sound.ogg").content == answer.content


@pytest.mark.usefixtures("mila")
def test_a_recording_is_heard_as_it_is(client: TestClient) -> None:
    heard(client, silence())
    assert client.get("/takes/1/sound.ogg").status_code == 404
    assert client.get("/takes/1/file").headers["content-type"] == "audio/wav"


def silence(seconds: int = 2) -> bytes:
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(8000)
        file.writeframes(bytes(2 * 8000 * seconds))
    return data.getvalue()


@pytest.mark.usefixtures("mila")
@pytest.mark.parametrize("data", [b"MThd but no more", b"no take at all", silence()])
def test_what_cannot_be_heard_is_one_line(client: TestClient, studio: Studio, data: bytes) -> None:
    text = heard(client, data)
    take = studio.takes.get(1)
    assert take.status == "failed"
    why = take.summary["why"]
    assert why[0].isupper()
    assert "Traceback" not in why
    assert 'role="alert"' in text
    assert studio.takes.file(1) == data


@pytest.mark.usefixtures("mila")
def test_what_is_no_take_at_all_is_refused(client: TestClient, studio: Studio) -> None:
    assert send(client, b"").status_code == 422
    assert send(client, b"x", student=9).status_code == 404
    assert send(client, b"x", piece=9).status_code == 404
    later = (date.today() + timedelta(2)).isoformat()
    assert send(client, b"x", on=later).status_code == 422
    assert send(client, b"x", on="soon").status_code == 422
    assert studio.takes.of_student(1) == ()


@pytest.mark.usefixtures("mila")
def test_a_file_s_name_is_never_a_path(client: TestClient, studio: Studio) -> None:
    heard(client, take_of("paper-boat", bars=(1, 3)), name="../../etc/take.mid")
    assert studio.takes.get(1).file_name == "take.mid"
    head = client.get("/takes/1/file").headers
    assert head["content-disposition"] == 'attachment; filename="take-1.mid"'


@pytest.mark.usefixtures("mila")
def test_what_was_cut_short_is_listened_to_later(client: TestClient, studio: Studio) -> None:
    data = take_of("paper-boat", bars=(1, 6))
    studio.takes.add(data, TakeDetails(student_id=1, piece_id=1, kind="midi"))
    assert "Listen to it now" in client.get("/takes/1").text
    assert client.post("/takes/1/listen").status_code == 303
    assert "To say first" in settled(client, "/takes/1")


@pytest.mark.usefixtures("mila")
def test_the_teacher_s_own_word_on_a_take(client: TestClient, studio: Studio, bring: Bring) -> None:
    other = bring("evening-ferry")
    heard(client, take_of("evening-ferry"))
    changed = client.post("/takes/1/details", data={"piece": other, "notes": "A good evening."})
    assert changed.status_code == 303
    text = settled(client, "/takes/1")
    assert "To say first" in text
    assert "A good evening." in text
    client.post("/takes/1/heard")
    assert studio.takes.get(1).heard_by_teacher
    client.post("/takes/1/heard", data={"heard": "no"})
    assert not studio.takes.get(1).heard_by_teacher
    gone = client.post("/takes/1/delete")
    assert studio.takes.of_student(1) == ()
    found = re.search(r'name="undo" value="([^"]+)"', client.get(gone.headers["location"]).text)
    assert found
    client.post("/undo", data={"undo": found[1], "back": "/"})
    assert len(studio.takes.of_student(1)) == 1


@pytest.mark.usefixtures("mila")
def test_other_pages_lead_to_takes(client: TestClient) -> None:
    heard(client, take_of("paper-boat", bars=(1, 6)))
    assert 'href="/takes/1"' in client.get("/").text
    assert 'href="/takes/1"' in client.get("/takes").text
    assert 'href="/takes/1"' in client.get("/students/1").text


@given(st.lists(st.sampled_from("abcde"), max_size=12))
def test_what_is_said_first_is_diverse(kinds: list[str]) -> None:
    first = first_things(kinds)
    assert len(first) == min(3, len(kinds))
    assert len({kinds[at] for at in first}) == min(3, len(set(kinds)))
    assert first == sorted(first)
    if kinds:
        assert first[0] == 0


@given(
    st.lists(
        st.tuples(
            st.integers(0, 400),
            st.one_of(st.none(), st.floats(20, 200)),
            st.integers(0, 9),
        ),
        min_size=2,
        max_size=30,
    )
)
def test_the_weeks_have_every_take_in_order(rows: list[tuple[int, float | None, int]]) -> None:
    from datetime import UTC, datetime
    from types import SimpleNamespace

    start = datetime(2026, 1, 1, tzinfo=UTC)
    takes: list[Any] = [
        SimpleNamespace(
            id=at,
            status="measured",
            recorded_at=start + timedelta(days=days),
            summary={"recognised": True, "tempo": tempo, "findings": {"tempo": count} if count else {}},
        )
        for at, (days, tempo, count) in enumerate(rows)
    ]  # fmt: skip
    weeks = weeks_of(takes, {"tempo": "tempo"})
    assert weeks is not None
    assert [p.take for p in weeks.points] == [
        t.id for t in sorted(takes, key=lambda t: (t.recorded_at, t.id))
    ]
    xs = [p.x for p in weeks.points]
    assert all(b - a >= NEAREST - 0.11 for a, b in pairwise(xs))
    assert all(p.y is None or 0 <= p.y <= weeks.height for p in weeks.points)
    assert sum(c for row in weeks.rows for _, c, _ in row.counts) == sum(c for *_, c in rows)
