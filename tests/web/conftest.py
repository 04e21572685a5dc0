"""A page to ask, as a browser would, over a studio of its own."""

from __future__ import annotations

import re
import shutil
import time
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from passagework.web.settings import Settings

if TYPE_CHECKING:
    from fastapi import FastAPI
    from starlette.testclient import TestClient

    from passagework.studio.piece_records import PieceFacts
    from passagework.studio.studio import Studio

PORT = 8123
ORIGIN = f"http://127.0.0.1:{PORT}"
PATIENCE = 60.0
DEMO = Path(__file__).parents[2] / "src" / "passagework" / "demo"

Bring = Callable[[str], int]
"""Brings a demo piece into the studio; gives its id."""


def browser_like(app: object) -> TestClient:
    """A client that keeps its cookie, names its origin and brings the token."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from starlette.testclient import TestClient

    client = TestClient(app, base_url=ORIGIN, follow_redirects=False)  # type: ignore[arg-type]
    client.headers.update(
        {"origin": ORIGIN, "sec-fetch-site": "same-origin", "accept": "text/html"}
    )
    page = client.get("/static/nothing").text
    found = re.search(r'name="token" content="([0-9a-f]+)"', page)
    assert found
    client.headers["x-token"] = found[1]
    return client


@pytest.fixture(scope="session")
def app() -> Iterator[FastAPI]:
    """The application, built once: its first request takes longer than most tests."""
    from passagework.web.app import create_app
    from passagework.web.jobs import Jobs

    jobs = Jobs(1)
    yield create_app(None, Settings(PORT), jobs)
    jobs.close()


def with_studio(app: FastAPI, studio: Studio | None) -> TestClient:
    """A new browser on the application, which remembers nothing of the test before."""
    from passagework.web.library.arrivals import Arrivals
    from passagework.web.notices import Notices

    jobs = app.state.jobs
    jobs.forget()
    app.state._state.clear()
    app.state.jobs, app.state.settings, app.state.studio = jobs, Settings(PORT), studio
    app.state.notices, app.state.arrivals = Notices(), Arrivals()
    return browser_like(app)


@pytest.fixture
def bare(app: FastAPI) -> TestClient:
    """A script on the page without a studio: for what needs none."""
    client = with_studio(app, None)
    del client.headers["accept"]
    return client


@pytest.fixture(scope="session")
def empty_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a studio without anything: making its tables takes longer than copying it."""
    from passagework.studio.studio import open_studio

    folder = tmp_path_factory.mktemp("empty") / "studio"
    open_studio(folder).close()
    return folder


@pytest.fixture
def studio(tmp_path: Path, empty_folder: Path) -> Iterator[Studio]:
    from passagework.studio.studio import open_studio

    folder = tmp_path / "studio"
    shutil.copytree(empty_folder, folder)
    shutil.rmtree(folder / "backups", ignore_errors=True)
    with open_studio(folder) as opened:
        yield opened


@pytest.fixture
def client(app: FastAPI, studio: Studio) -> TestClient:
    """A browser on the studio's page."""
    return with_studio(app, studio)


@pytest.fixture(scope="session")
def demo_facts() -> Callable[[str], tuple[bytes, PieceFacts]]:
    """A demo piece's file and facts, measured once."""
    from passagework.web.library.facts import facts_job

    known: dict[str, tuple[bytes, PieceFacts]] = {}

    def facts(name: str) -> tuple[bytes, PieceFacts]:
        if name not in known:
            data = (DEMO / f"{name}.musicxml").read_bytes()
            known[name] = data, facts_job(lambda *_: None, data, f"{name}.musicxml")  # type: ignore[misc]
        return known[name]

    return facts


@pytest.fixture
def bring(studio: Studio, demo_facts: Callable[[str], tuple[bytes, PieceFacts]]) -> Bring:
    def brought(name: str) -> int:
        data, facts = demo_facts(name)
        return studio.pieces.add(data, f"{name}.musicxml", facts).piece.id

    return brought


def follow(client: TestClient, address: str) -> dict[str, object]:
    """Wait for the end of the job that a page leads to."""
    path = address.split("?")[0]
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        job: dict[str, object] = client.get(path, headers={"accept": "application/json"}).json()
        if job["state"] not in {"waiting", "running"}:
            return job
        time.sleep(0.05)
    raise AssertionError(f"{path} did not end")


def undo_of(client: TestClient, address: str) -> str:
    """The token for undoing that the page at `address` offers."""
    found = re.search(r'name="undo" value="([^"]+)"', client.get(address).text)
    assert found
    return found[1]
