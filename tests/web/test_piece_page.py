"""The page of a piece as the server gives it: prepared once, edited often, heard, taken away."""

from __future__ import annotations

import io
import json
import re
import time
import wave
from collections.abc import Iterator
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import pytest

from passagework.hands.hand import Hand, Hands
from passagework.score import read_score
from passagework.studio.records import StudentDetails
from passagework.studio.studio import open_studio
from passagework.web.app import create_app
from passagework.web.jobs import Jobs
from passagework.web.settings import Settings
from tests.web.conftest import PORT, browser_like

if TYPE_CHECKING:
    from starlette.testclient import TestClient

HTML = {"accept": "text/html"}
JSON = {"accept": "application/json"}
WAIT = 120.0


class Page:
    """A piece in a studio, and a browser on it."""

    def __init__(self, client: TestClient, studio: Any, student: int) -> None:
        self.client, self.studio, self.student = client, studio, student

    def get(self, path: str = "", **options: Any) -> Any:
        return self.client.get(f"/pieces/1{path}", headers=HTML, **options)

    def json(self, path: str, **headers: str) -> Any:
        answer = self.client.get(f"/pieces/1{path}", headers=JSON | headers)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def change(self, path: str, data: dict[str, Any], prints: str = "") -> Any:
        answer = self.client.post(
            f"/pieces/1{path}", data=data, headers=JSON | {"x-prints": prints}
        )
        assert answer.status_code == 200, answer.text
        return answer.json()

    def ready(self, path: str = "") -> str:
        """The page, once nothing is being worked out any more."""
        until = time.monotonic() + WAIT
        while time.monotonic() < until:
            text: str = self.get(path).text
            if 'id="score"' in text and 'data-refingering=""' in text:
                return text
            time.sleep(0.1)
        raise AssertionError("the piece was not prepared")

    def prints(self) -> str:
        return ",".join(re.findall(r'data-print="([^"]+)"', self.ready()))

    def spots(self) -> list[str]:
        return re.findall(r'data-spot="([^"]+)" data-rank="\d', self.get().text)


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Page]:
    with open_studio(tmp_path_factory.mktemp("studio")) as studio:
        data = files("passagework.demo").joinpath("lamplighter.musicxml").read_bytes()
        studio.pieces.add(data, "lamplighter.musicxml")
        student = studio.students.add(StudentDetails(name="Ada", hands=Hands.alike(Hand(16.5))))
        app = create_app(studio, Settings(PORT, workers=2), Jobs(2))
        with browser_like(app) as client:
            made = Page(client, studio, student.id)
            made.ready()
            yield made


@pytest.fixture(autouse=True)
def _no_edits(page: Page) -> Iterator[None]:
    yield
    for student in (None, page.student):
        for record in page.studio.edits.of_piece(1, student):
            page.studio.edits.delete(record.id)


def test_the_first_look_shows_work_and_the_second_the_piece(page: Page) -> None:
    first = page.get(f"?student={page.student}")
    assert 'data-job="' in first.text
    text = page.ready(f"?student={page.student}")
    assert "for Ada" in text
    assert "reach 16.5 cm" in text
    assert text.count('<figure class="system"') >= 3


def test_every_note_of_the_score_is_drawn_once_under_its_name(page: Page) -> None:
    text = page.ready("?whole=true")
    data = files("passagework.demo").joinpath("lamplighter.musicxml").read_bytes()
    heads = {i for n in read_score(data).piece.notes if n.printed for i in n.ids}
    drawn = re.findall(r'<g id="s-([^"]+)"', text)
    assert heads <= set(drawn)
    assert len(drawn) == len(set(drawn))


def test_nothing_in_the_page_needs_a_style_or_a_script_of_its_own(page: Page) -> None:
    text = page.ready()
    assert not re.search(r"<[^>]+\sstyle=", text)
    assert not re.search(r"<[^>]+\son[a-z]+=", text)
    assert re.findall(r"<script(?![^>]*\bsrc=)", text) == []
    addresses = re.findall(r'\b(?:src|href)="([^"]+)"', text)
    assert all(a.startswith(("/", "#")) for a in addresses)
    ids = re.findall(r'\sid="([^"]+)"', text)
    assert len(ids) == len(set(ids))


def test_a_cached_page_takes_little_of_the_servers_time(page: Page) -> None:
    page.ready()
    took = []
    for _ in range(5):
        start = time.process_time()
        page.get()
        took.append(time.process_time() - start)
    assert min(took) < 0.15


def test_hiding_a_spot_redraws_only_its_systems_and_can_be_taken_back(page: Page) -> None:
    prints = page.prints()
    before = page.spots()
    done = page.change("/hide", {"spot": before[0]}, prints)
    assert done["words"] == "Hid a place."
    assert 0 < len(done["systems"]) < len(prints.split(","))
    assert page.spots() == before[1:]
    assert "Hidden (1)" in done["beside"]
    undone = page.client.post("/undo.json", json={"undo": done["undo"]})
    assert undone.status_code == 200
    assert page.spots() == before
    assert page.json("/state", **{"x-prints": prints})["systems"] == {}


def test_a_finger_is_kept_shown_at_once_and_the_others_fit_to_it(page: Page) -> None:
    prints = page.prints()
    note = page.json("/notes")["notes"][4]
    assert not note[9]
    finger = 1 if note[7][:1] != [1] else 2
    done = page.change("/fingers", {"fingers": f"{note[0]}:{finger}"}, prints)
    assert len(done["systems"]) == 1
    assert ">" + str(finger) + "</text>" in next(iter(done["systems"].values()))
    page.ready()
    again = {row[0]: row for row in page.json("/notes")["notes"]}
    assert again[note[0]][7] == [finger]
    assert again[note[0]][9] is True
    freed = page.change("/fingers", {"fingers": f"{note[0]}:"})
    assert freed["undo"]
    assert page.studio.edits.of_piece(1) == ()


def test_what_is_fixed_for_a_student_holds_for_that_student_alone(page: Page) -> None:
    page.ready(f"?student={page.student}")
    note = page.json("/notes")["notes"][0][0]
    page.change(f"/fingers?student={page.student}", {"fingers": f"{note}:5"})
    assert page.json(f"/notes?student={page.student}")["notes"][0][9] is True
    assert page.json("/notes")["notes"][0][9] is False
    page.change("/fingers", {"fingers": f"{note}:4"})
    assert page.json("/notes")["notes"][0][7] == [4]
    assert page.json(f"/notes?student={page.student}")["notes"][0][7] == [5]


def test_words_of_a_card_are_the_teachers_until_they_are_emptied(page: Page) -> None:
    page.ready()
    spot = page.spots()[0]
    page.change("/words", {"spot": spot, "title": "Mind the corner", "tries": "sing\nplay"})
    text = page.get().text
    assert "Mind the corner" in text
    assert "<li>sing</li><li>play</li>" in text
    page.change("/words", {"spot": spot})
    assert "Mind the corner" not in page.get().text
    assert page.studio.edits.of_piece(1) == ()


def test_a_note_of_ones_own_stands_in_the_music_and_beside_it(page: Page) -> None:
    page.ready()
    note = page.json("/notes")["notes"][7]
    done = page.change(
        "/notes", {"bar": note[1], "note": note[0], "text": "  breathe <here> & \r\n listen "}
    )
    assert "breathe &lt;here&gt; &amp;" in done["beside"]
    assert any("breathe &lt;here&gt;" in svg for svg in done["systems"].values())
    (record,) = page.studio.edits.of_piece(1)
    assert record.payload["text"] == "breathe <here> & \n listen"
    page.change("/notes", {"bar": note[1], "key": record.key, "text": "later"})
    (record,) = page.studio.edits.of_piece(1)
    assert record.payload["text"] == "later"
    page.change("/notes", {"bar": note[1], "key": record.key, "text": " "})
    assert page.studio.edits.of_piece(1) == ()


def test_an_own_place_gets_a_ring_a_number_and_exercises(page: Page) -> None:
    page.ready()
    count = len(page.spots())
    done = page.change(
        "/places", {"first_bar": 3, "last_bar": 2, "title": "The turn", "hand": "right"}
    )
    number = max(int(n) for n in re.findall(r'data-rank="(\d+)"', done["beside"]))
    assert number == count + 1
    assert any(f'data-number="{number}"' in svg for svg in done["systems"].values())
    spot = next(s for s in page.spots() if s.startswith("own-"))
    html = drilled(page, spot)
    assert "bars 3 and 4" in html or "bars 2 and 3" in html or "bars 3 to 4" in html


def drilled(page: Page, spot: str) -> str:
    until = time.monotonic() + WAIT
    while time.monotonic() < until:
        answer = page.client.get("/pieces/1/exercises", params={"spot": spot}, headers=JSON)
        if answer.status_code == 200:
            return str(answer.text)
        assert answer.status_code == 202, answer.text
        time.sleep(0.1)
    raise AssertionError("no exercises came")


def test_exercises_are_drawn_and_one_can_be_left_out(page: Page) -> None:
    page.ready()
    spot = page.spots()[0]
    html = drilled(page, spot)
    assert html.count('class="exercise"') >= 2
    assert "<svg" in html
    assert not re.search(r"<[^>]+\sstyle=", html)
    ids = re.findall(r'<g id="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    technique = re.search(r'name="technique" value="([^"]+)"', html)
    assert technique
    page.change("/skip", {"spot": spot, "technique": technique[1]})
    fewer = drilled(page, spot)
    assert fewer.count('class="exercise"') == html.count('class="exercise"') - 1
    edit = re.search(r"/edits/(\d+)/delete", fewer)
    assert edit
    page.change(f"/edits/{edit[1]}/delete", {})
    assert drilled(page, spot).count('class="exercise"') == html.count('class="exercise"')


def test_a_fixed_finger_stands_in_the_exercises_of_its_place(page: Page) -> None:
    page.ready()
    spot, first, notes = re.findall(
        r'data-spot="([^"]+)" data-rank="1" data-first="(\d+)"[^>]* data-notes="([^"]+)"',
        page.get().text,
    )[0]
    note = notes.split()[0]
    before = drilled(page, spot)
    taken = next(n for n in page.json("/notes")["notes"] if n[0] == note)
    finger = 5 if taken[7][:1] != [5] and taken[6][:1] != [5] else 4
    page.change("/fingers", {"fingers": f"{note}:{finger}"})
    page.ready()
    after = drilled(page, spot)
    assert after.count(f">{finger}</text>") > before.count(f">{finger}</text>")
    assert int(first) == taken[1]


def samples(data: bytes) -> tuple[int, Any]:
    import numpy as np

    with wave.open(io.BytesIO(data)) as file:
        assert file.getnchannels() == 1
        return file.getframerate(), np.frombuffer(file.readframes(file.getnframes()), "<i2")


def test_the_score_sounds_where_the_timeline_says(page: Page) -> None:
    pytest.importorskip("midirenderer")
    import numpy as np

    page.ready()
    line = page.json("/timeline?tempo=100")
    slow = page.json("/timeline?tempo=50")
    assert slow["duration"] == pytest.approx(2 * line["duration"], rel=1e-3)
    assert [b[1] for b in line["bars"]] == list(range(len(line["bars"])))
    assert sum(1 for lead in line["lead"] if lead[2] == 2) >= 1
    answer = page.client.get("/pieces/1/sound/right/0.wav?tempo=100")
    assert answer.headers["content-type"] == "audio/wav"
    rate, heard = samples(answer.content)
    first = next(n for n in line["notes"] if n[3] == "right")
    quiet = np.abs(heard[: max(1, int((first[0] - 0.02) * rate))]).max(initial=0)
    loud = np.abs(heard[int(first[0] * rate) : int((first[0] + 0.3) * rate)]).max()
    assert loud > 500
    assert quiet < 0.05 * loud
    assert page.get("/sound/right/999.wav?tempo=100").status_code == 422


def test_a_step_sounds_at_its_tempo_and_its_grey_notes_are_silent(page: Page) -> None:
    pytest.importorskip("midirenderer")
    page.ready()
    spot = page.spots()[0]
    html = drilled(page, spot)
    steps = re.findall(r'data-step="(\d+)" data-tempo="([^"]+)"', html.split("</section>")[0])
    for number, tempo in steps[:2]:
        line = page.json(f"/timeline?spot={spot}&exercise=0&step={number}&tempo={tempo}")
        assert line["duration"] > 0
        assert line["notes"]
    notation = page.client.get(f"/pieces/1/step.musicxml?spot={spot}&exercise=0&step=0")
    assert read_score(notation.content).piece.notes
    midi = page.client.get(f"/pieces/1/sound.mid?spot={spot}&exercise=0&step=0&tempo=60")
    assert midi.content.startswith(b"MThd")
    assert page.get(f"/timeline?spot={spot}&exercise=0&step=99").status_code == 404


def test_other_fingerings_are_playable_ways_that_differ(page: Page) -> None:
    page.ready()
    rows = [n for n in page.json("/notes")["notes"] if n[5] == "right"][:10]
    ends = {"first": rows[0][0], "last": rows[-1][0]}
    begun = page.client.get("/pieces/1/fingerings", params=ends, headers=JSON)
    assert begun.status_code == 202
    job = begun.json()["job"]
    assert page.client.app.state.jobs.wait(job, WAIT).state == "done"  # type: ignore[attr-defined]
    found = page.client.get("/pieces/1/fingerings", params=ends | {"job": job}, headers=JSON).json()
    taken = [json.dumps(way["fingers"]) for way in found["ways"]]
    assert len(taken) == len(set(taken)) >= 1
    ids = {r[0] for r in rows}
    assert all(i in ids for way in found["ways"] for i, _ in way["fingers"])
    left = next(n for n in page.json("/notes")["notes"] if n[5] == "left")
    wrong = page.client.get(
        "/pieces/1/fingerings", params={"first": rows[0][0], "last": left[0]}, headers=JSON
    )
    assert wrong.status_code == 422


def test_the_score_with_fingers_and_the_guide_can_be_taken_away(page: Page) -> None:
    page.ready()
    note = page.json("/notes")["notes"][4]
    page.change("/fingers", {"fingers": f"{note[0]}:3"})
    page.change("/places", {"first_bar": 1, "last_bar": 1, "title": "The turn"})
    answer = page.client.get("/pieces/1/fingered.musicxml", headers=JSON)
    assert answer.status_code == 200
    assert "attachment" in answer.headers["content-disposition"]
    assert read_score(answer.content).piece.by_id[note[0]].fingers == (3,)
    guide = page.client.get("/pieces/1/guide.pdf", headers=JSON)
    assert guide.content.startswith(b"%PDF")
    import pypdfium2

    document = pypdfium2.PdfDocument(guide.content)
    text = "".join(p.get_textpage().get_text_bounded() for p in document)
    assert "The turn" in text


@pytest.mark.parametrize(
    ("path", "data", "status"),
    [
        ("/hide", {"spot": "no-such-place"}, 404),
        ("/hide", {}, 422),
        ("/fingers", {"fingers": "n1:9"}, 422),
        ("/fingers", {"fingers": "nowhere:2"}, 422),
        ("/fingers", {"fingers": ""}, 422),
        ("/notes", {"bar": "900", "text": "x"}, 422),
        ("/notes", {"bar": "0", "text": "  "}, 422),
        ("/places", {"first_bar": "0", "last_bar": "9000"}, 422),
        ("/places", {"first_bar": "-1", "last_bar": "0"}, 422),
        ("/places", {"first_bar": "0", "last_bar": "0", "hand": "third"}, 422),
        ("/edits/12345/delete", {}, 404),
        ("/skip", {"spot": "no-such-place", "technique": "x"}, 404),
    ],
)
def test_what_cannot_be_meant_is_one_line(
    page: Page, path: str, data: dict[str, str], status: int
) -> None:
    page.ready()
    answer = page.client.post(f"/pieces/1{path}", data=data, headers=JSON)
    assert answer.status_code == status
    assert answer.json()["error"]


def test_a_form_without_scripts_goes_back_to_the_page(page: Page) -> None:
    page.ready()
    spot = page.spots()[0]
    answer = page.client.post("/pieces/1/hide", data={"spot": spot}, headers=HTML)
    assert answer.status_code == 303
    assert answer.headers["location"].startswith("/pieces/1")
    assert "notice=" in answer.headers["location"]


def test_no_such_piece_or_student(page: Page) -> None:
    assert page.client.get("/pieces/99", headers=HTML).status_code == 404
    assert page.get("?student=99").status_code == 404
    assert page.get("?student=x").status_code == 422


def test_edits_outlive_a_cache_that_was_thrown_away(page: Page) -> None:
    spot = page.spots()[0]
    page.change("/hide", {"spot": spot})
    page.studio.computed.clear()
    page.client.app.state.piece_shelf = type(page.client.app.state.piece_shelf)(  # type: ignore[attr-defined]
        page.studio,
        page.client.app.state.jobs,  # type: ignore[attr-defined]
    )
    page.ready()
    assert spot not in page.spots()
