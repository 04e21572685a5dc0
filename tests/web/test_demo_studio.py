"""The demo studio: made once, computed like any other, with takes that get better."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from passagework.hands.hand import Hand
from passagework.studio.studio import open_studio
from passagework.web.demo_studio.make import make_demo_studio, score_of
from passagework.web.demo_studio.people import NINA, PEOPLE, PIECES, Played
from passagework.web.demo_studio.playing import LONGEST_WAIT, troubles
from passagework.web.piece.hold import prepared
from tests.web.conftest import with_studio

if TYPE_CHECKING:
    from fastapi import FastAPI

    from passagework.studio.studio import Studio

TODAY = date(2026, 3, 4)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("demo") / "studio"
    assert make_demo_studio(made, TODAY, people=(NINA,))
    return made


@pytest.fixture
def demo(folder: Path) -> Iterator[Studio]:
    with open_studio(folder) as opened:
        yield opened


def test_it_is_made_once(folder: Path) -> None:
    assert not make_demo_studio(folder, TODAY)


def test_every_take_was_heard_and_they_get_better(demo: Studio) -> None:
    takes = demo.takes.of_student(1)
    assert [t.status for t in takes] == ["measured"] * len(NINA.studies[0].takes)
    assert all(t.summary["recognised"] for t in takes)
    latest, first = takes[0], takes[-1]
    assert sum(latest.summary["findings"].values()) < sum(first.summary["findings"].values())
    assert latest.summary["tempo"] > first.summary["tempo"]
    assert [t.heard_by_teacher for t in takes] == [False, True, True, True]


def test_the_plan_followed_lessons_and_takes(demo: Studio) -> None:
    versions = demo.plans.versions(1)
    reasons = [v.reason for v in reversed(versions)]
    assert reasons[0] == "at your wish"
    assert {"after the lesson", "after a take"} <= set(reasons)
    made = [v.made_at for v in reversed(versions)]
    assert made == sorted(made)
    assert made[-1].date() <= TODAY


def test_its_pages_open(app: FastAPI, demo: Studio) -> None:
    client = with_studio(app, demo)
    for address in ("/", "/students/1", "/students/1/takes", "/students/1/plan", "/takes", "/takes/1"):  # fmt: skip
        answer = client.get(address)
        assert answer.status_code == 200, address
    assert "To say first" in client.get("/takes/1").text


def test_nobody_in_it_contradicts_the_calendar() -> None:
    hands = {p.details.hands for p in PEOPLE}
    ages = {p.details.age_band for p in PEOPLE}
    assert len(hands) == len(ages) == len(PEOPLE) == 3
    for person in PEOPLE:
        weekday = (TODAY + timedelta(days=person.lesson_in)).weekday()
        for met in person.lessons:
            assert (TODAY - timedelta(days=met.days_ago)).weekday() == weekday
        for study in person.studies:
            assert study.piece in PIECES
            assert all(take.days_ago < study.since for take in study.takes)


def test_less_goes_wrong_where_less_is_asked_for() -> None:
    hands = NINA.details.hands
    assert hands is not None
    assert isinstance(hands.left, Hand)
    preparation = prepared(score_of("lamplighter"), "lamplighter.musicxml", hands)
    spots = [s for s in preparation.spots if s.note_ids]
    counts = [len(troubles(spots, Played(1, 0.9, share / 10))) for share in range(11)]
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] == len(spots)
    waits = [f.seconds for f in troubles(spots, Played(1, 0.9, 1.0)) if hasattr(f, "seconds")]
    assert waits
    assert max(waits) == pytest.approx(LONGEST_WAIT)


def test_it_is_made_from_outside_too(folder: Path) -> None:
    command = [sys.executable, "-m", "passagework.web.demo_studio", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert re.search("stays as it is", done.stdout)
