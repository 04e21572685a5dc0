"""A small library of scores, and readers that can be made to fail."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

pytest.importorskip("pyarrow", reason="the survey needs its extra")
pytest.importorskip("fsspec", reason="the survey needs its extra")

import pyarrow as pa
import pyarrow.parquet as pq

from passagework.survey.reader import Reader
from passagework.survey.row import Row
from passagework.survey.serve import Job, measure_job
from passagework.survey.survey import Settings, Summary, make_survey
from tests.conftest import DEMO

HOSTILE = """
import os, time
import passagework.survey.row as row
from passagework.survey import serve

honest = row.measured_row

def measured_row(data, path, reach):
    if "hang" in path:
        time.sleep(1000)
    if "crash" in path:
        os.abort()
    if "greedy" in path:
        bytearray(1_500_000_000)
    return honest(data, path, reach)

row.measured_row = measured_row
serve.main()
"""


def write_score(path: Path, number: int) -> None:
    """A score that no other is equal to."""
    path.parent.mkdir(parents=True, exist_ok=True)
    data = (DEMO / "paper-boat.musicxml").read_bytes()
    path.write_bytes(data + f"<!-- copy {number} -->\n".encode())


@pytest.fixture
def library(tmp_path: Path) -> Path:
    """Six scores in two folders, a file that is none, and two that are no music."""
    root = tmp_path / "library"
    for number in range(4):
        write_score(root / f"{number}.musicxml", number)
    for number in range(4, 6):
        write_score(root / "more" / "deep" / f"{number}.XML", number)
    (root / "more" / "empty.mxl").write_bytes(b"")
    (root / "broken.musicxml").write_bytes(b"<score-partwise><part>")
    (root / "notes.txt").write_text("not a score")
    (root / ".hidden.musicxml").write_bytes(b"not looked at")
    return root


SCORES, UNREADABLE = 8, 2


def survey(root: Path | str, out: Path, **settings: object) -> Summary:
    """Make a survey with one reader unless told otherwise."""
    return make_survey(str(root), out, Settings(**{"workers": 1} | settings))  # type: ignore[arg-type]


def table(out: Path) -> pa.Table:
    """The table."""
    return pq.read_table(out)


def rows(out: Path) -> dict[str, dict[str, object]]:
    """Rows by path."""
    return {row["path"]: row for row in table(out).to_pylist()}


@pytest.fixture
def hostile_readers(monkeypatch: pytest.MonkeyPatch) -> Callable[[], None]:
    """Readers that hang, crash or need all memory when the name of a score says so."""
    import subprocess

    from passagework.survey import reader

    def start() -> subprocess.Popen[bytes]:
        return subprocess.Popen(
            [sys.executable, "-c", HOSTILE],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
        )

    return lambda: monkeypatch.setattr(reader, "_start", start)


@pytest.fixture
def at_home(monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs are done in the process of the test, which takes half a second less than to start a reader."""

    class AtHome(Reader):
        def measure(self, job: Job) -> Row | None:
            return measure_job(job)

    monkeypatch.setattr("passagework.survey.local.Reader", AtHome)
