"""Every route, asked for anything its interface allows and much that it does not: never a fault of the program."""

from __future__ import annotations

import random
import re
import shutil
import warnings
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from passagework.web.jobs import Job, Jobs
from tests.web.conftest import DEMO, ORIGIN, PATIENCE, PORT, browser_like

schemathesis = pytest.importorskip("schemathesis")

if TYPE_CHECKING:
    from passagework.studio.studio import Studio

EXAMPLES = 6
NIGHTLY_EXAMPLES = 150
ROUTES_AT_LEAST = 50
"""So many there are; fewer would mean that they were not found."""
SHARE_THAT_IS = 0.85
"""Share of the requests that ask for what is there."""
SHARE_EMPTY = 0.3
"""Share of texts that are left empty, as most fields are."""

DAY = ["2026-03-04", ""]
MEANT: dict[str, list[str]] = {
    "on": ["2026-03-04"],
    "at": ["16:30", ""],
    "since": DAY,
    "performance_on": DAY,
    "result_on": DAY,
    "status": ["learning", "finished"],
    "result": ["", "secure"],
    "value": ["5", "0,5"],
    "age_band": ["child", ""],
    "reach_left": ["17", ""],
    "reach_right": ["17", ""],
    "weekly_minutes": ["90", ""],
    "lesson_weekday": ["2", ""],
    "lesson_time": ["16:30", ""],
    "lesson_minutes": ["30", ""],
    "older": ["keep", "clean", "delete"],
    "name": ["Mila"],
    "labels": ["one\ntwo", "one"],
    "hand": ["right", "both"],
    "paper": ["a4", "letter"],
}
"""What fields are meant to hold, by name."""


class StillJobs(Jobs):
    """A queue that takes everything and does nothing: what the workers do is tested elsewhere."""

    def _work(self, at: int) -> None:  # noqa: ARG002
        return

    def wait(self, identity: str, seconds: float) -> Job:  # noqa: ARG002
        return self.get(identity)


def furnish(folder: Path) -> None:
    """A studio in which there are some of everything."""
    from passagework.studio.records import LessonDetails, StudentDetails, StudyDetails, TakeDetails
    from passagework.studio.studio import open_studio
    from passagework.web.library.facts import facts_job

    with open_studio(folder) as studio:
        for name in ("paper-boat", "lamplighter"):
            data = (DEMO / f"{name}.musicxml").read_bytes()
            facts = facts_job(lambda *_: None, data, f"{name}.musicxml")  # type: ignore[misc]
            studio.pieces.add(data, f"{name}.musicxml", facts)
        for row, name in enumerate(("Mila", "Jo"), 1):
            studio.students.add(StudentDetails(name=name, weekly_minutes=90, practice_days=(0, 2)))
            study = StudyDetails(
                student_id=row, piece_id=row, result="ok", result_on=date(2026, 1, 2)
            )
            studio.studies.add(study)
            studio.studies.add(StudyDetails(student_id=row, piece_id=3 - row))
            studio.lessons.add(
                LessonDetails(student_id=row, on=date(2026, 3, 4), promised="scales")
            )
            studio.takes.add(b"MThd", TakeDetails(student_id=row, kind="midi", piece_id=row))
            studio.levels.make(f"Mine {row}", ["one", "two"])
            studio.skills.put(row, "leap", 0.4)


def prepare(folder: Path) -> list[str]:
    """Let workers prepare a piece and a plan, as a teacher would have by then; gives the ids of the piece's spots."""
    from passagework.studio.studio import open_studio
    from passagework.web.app import create_app
    from passagework.web.settings import Settings

    with open_studio(folder) as studio:
        app = create_app(studio, Settings(PORT, workers=1))
        with browser_like(app) as client:
            client.get("/pieces/1")
            client.get("/pieces/1?student=1")
            client.post("/students/1/plan")
            for job in app.state.jobs.unfinished():
                assert app.state.jobs.wait(job.id, PATIENCE).state == "done"
            client.get("/students/1/assignment")
            for job in app.state.jobs.unfinished():
                assert app.state.jobs.wait(job.id, PATIENCE).state == "done"
            page = client.get("/pieces/1?student=1").text
    return sorted(set(re.findall(r'data-spot="([^"]+)"', page)))[:4]


class Fuzzed:
    """The page over a studio that is put back to its beginning before every route."""

    def __init__(self, folder: Path) -> None:
        from passagework.web.app import create_app
        from passagework.web.settings import Settings

        self.folder = folder
        furnish(folder / "first")
        self.spots = prepare(folder / "first")
        self.app = create_app(None, Settings(PORT), StillJobs(1))
        self.studio: Studio | None = None
        self.client = browser_like(self.app)
        self.names: dict[str, list[str]] = {}

    def put_back(self) -> None:
        """Everything as it was in the beginning."""
        from passagework.studio.studio import open_studio

        self.close()
        shutil.rmtree(self.folder / "now", ignore_errors=True)
        shutil.copytree(self.folder / "first", self.folder / "now")
        self.studio = self.app.state.studio = open_studio(self.folder / "now")
        if hasattr(self.app.state, "piece_shelf"):
            del self.app.state.piece_shelf
        undo = [step.token for step in self.studio.undo.recent()]
        backups = [backup.name for backup in self.studio.backups.all()]
        self.names = {
            "kind": ["leap", "stretch"],
            "name": ["Mila", *backups],
            "undo": undo,
            "spot": self.spots,
        }

    def close(self) -> None:
        """End what is open."""
        if self.studio is not None:
            self.studio.close()


@pytest.fixture(scope="module")
def fuzzed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Fuzzed]:
    made = Fuzzed(tmp_path_factory.mktemp("fuzz"))
    yield made
    made.app.state.jobs.close()
    made.close()


def test_no_route_breaks(fuzzed: Fuzzed, request: pytest.FixtureRequest) -> None:
    """One test for all routes: their interface is known only once the application is built."""
    most = NIGHTLY_EXAMPLES if request.config.getoption("--nightly") else EXAMPLES
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        schema = schemathesis.openapi.from_dict(fuzzed.app.openapi())
        operations = [row.ok() for row in schema.get_all_operations()]
        assert len(operations) > ROUTES_AT_LEAST
        for operation in operations:
            fuzzed.put_back()
            fuzz(operation.as_strategy(), fuzzed, most)


def fuzz(cases: Any, fuzzed: Fuzzed, most: int) -> None:
    """Ask one route for `most` things."""

    @settings(
        max_examples=most,
        deadline=None,
        phases=[Phase.explicit, Phase.generate],
        suppress_health_check=list(HealthCheck),
        derandomize=True,
        database=None,
    )
    @given(case=cases)
    def run(case: Any) -> None:
        _ask(case, fuzzed)

    run()


def _ask(case: Any, fuzzed: Fuzzed) -> None:
    # Mostly something that is there: what is drawn at random hardly ever is.
    draw = random.Random(repr((case.path, case.path_parameters, case.body, case.query)))
    for values in (case.path_parameters, case.query, case.body):
        if isinstance(values, dict) and draw.random() < SHARE_THAT_IS:
            _make_real(values, draw, fuzzed.names)
    told = case.as_transport_kwargs(base_url=ORIGIN)
    told.pop("cookies", None)
    headers = {
        **dict(told.pop("headers") or {}),
        "accept": draw.choice(["text/html", "application/json"]),
        "origin": ORIGIN,
        "sec-fetch-site": "same-origin",
        "x-token": fuzzed.client.headers["x-token"],
    }
    sent = {name: str(value).encode("utf-8", "replace") for name, value in headers.items()}
    answer = fuzzed.client.request(**told, headers=sent)
    assert answer.status_code < 500, f"{told['method']} {told['url']}: {answer.text[:300]}"
    assert answer.headers["x-content-type-options"] == "nosniff"
    if answer.status_code >= 400 and "json" in answer.headers.get("content-type", ""):
        assert isinstance(answer.json()["error"], str)


def _make_real(values: dict[str, Any], draw: random.Random, names: dict[str, list[str]]) -> None:
    known = {**MEANT, **names}
    for name, value in values.items():
        if isinstance(value, int) and not isinstance(value, bool):
            values[name] = draw.choice([1, 1, 1, 2, 3])
        elif isinstance(value, str) and known.get(name):
            values[name] = draw.choice(known[name])
        elif isinstance(value, str) and draw.random() < SHARE_EMPTY:
            values[name] = ""
