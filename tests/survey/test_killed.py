"""A survey that is killed, as often as one likes, finishes right."""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from passagework.survey.journal import Journal
from passagework.survey.source import open_source
from tests.survey.conftest import SCORES, survey, table, write_score

START_S = 1.0
"""Nothing is measured earlier."""


def killed_often(library: Path, tmp_path: Path, times: int, seed: int) -> None:
    chance = random.Random(seed)
    whole, out = tmp_path / "whole.parquet", tmp_path / "out.parquet"
    begun = time.monotonic()
    survey(library, whole)
    longest = 1.5 * (time.monotonic() - begun)
    command = [sys.executable, "-m", "passagework", "survey", str(library), "--out", str(out)]
    killed = 0
    for _ in range(times):
        run = subprocess.Popen([*command, "--workers", "2"], stderr=subprocess.DEVNULL)
        try:
            run.wait(chance.uniform(0.3, max(longest, START_S)))
        except subprocess.TimeoutExpired:
            run.send_signal(signal.SIGKILL)
            killed += 1
        run.wait()
    assert killed
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert table(out).equals(table(whole), check_metadata=True)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["library", "out.parquet", "whole.parquet"]


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL")
def test_killed_three_times(library: Path, tmp_path: Path) -> None:
    killed_often(library, tmp_path, 3, seed=3)


@pytest.mark.nightly
@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL")
def test_killed_ten_times(library: Path, tmp_path: Path) -> None:
    for number in range(100, 140):
        write_score(library / "many" / f"{number}.musicxml", number)
    killed_often(library, tmp_path, 10, seed=10)


@pytest.mark.usefixtures("at_home")
def test_killed_anywhere_in_the_journal(library: Path, tmp_path: Path) -> None:
    """A journal cut off at any byte is the work of a run that was killed there."""
    out, journal = tmp_path / "out.parquet", tmp_path / "out.parquet.partial"
    entries = open_source(str(library)).entries()

    from passagework.survey import survey as surveys

    kept: list[bytes] = []
    remove = Journal.remove
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(
            surveys.Journal, "remove", lambda j: (kept.append(journal.read_bytes()), remove(j))
        )
        survey(library, out)
    whole, chance = table(out), random.Random(5)
    head = len(kept[0].splitlines(keepends=True)[0])
    for cut in (0, 7, head, *(chance.randrange(head, len(kept[0])) for _ in range(3))):
        out.unlink()
        journal.write_bytes(kept[0][:cut])
        lines = kept[0][:cut].count(b"\n")
        assert survey(library, out).kept == max(lines - 1, 0)
        assert table(out).equals(whole)
    assert len(entries) == SCORES


def test_readers_end_with_the_survey_that_was_killed(library: Path, tmp_path: Path) -> None:
    """A reader sees the end of its input and ends."""
    children = Path("/proc/self/task")
    if not children.exists():
        pytest.skip("this system does not list the children of a process")
    command = [sys.executable, "-m", "passagework", "survey", str(library), "--out"]
    run = subprocess.Popen([*command, str(tmp_path / "out.parquet"), "--workers", "1"])
    readers: list[int] = []
    until = time.monotonic() + 30
    while not readers and time.monotonic() < until and run.poll() is None:
        time.sleep(0.02)
        for listed in Path(f"/proc/{run.pid}/task").glob("*/children"):
            readers += [int(pid) for pid in listed.read_text().split()]
    run.kill()
    run.wait()
    assert readers
    until = time.monotonic() + 30
    while time.monotonic() < until and any(Path(f"/proc/{pid}").exists() for pid in readers):
        time.sleep(0.05)
    assert not any(Path(f"/proc/{pid}").exists() for pid in readers)
