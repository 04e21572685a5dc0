"""Long work: done elsewhere, told of, ended when asked, never the end of the server."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from passagework.web.jobs import FINISHED_KEPT, Job, Jobs, UnknownJobError
from tests.web import work

PATIENCE = 30.0


@pytest.fixture(scope="module")
def jobs() -> Iterator[Jobs]:
    queue = Jobs(2, modules=())
    yield queue
    queue.close()


def until(true: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, "waited too long"
        time.sleep(0.01)


def running(pid: int) -> bool:
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return False
    return Path(f"/proc/{pid}/stat").read_text().split(")")[1].split()[0] != "Z"


def test_what_a_function_returns_comes_back(jobs: Jobs) -> None:
    kept: list[int] = []
    job = jobs.submit("sum", work.double, (21,), title="Doubling 21", keep=kept.append)
    job = jobs.wait(job.id, PATIENCE)
    assert (job.state, job.progress, job.words) == ("done", 1.0, "Doubling")
    assert jobs.result(job.id) == 42
    assert kept == [42]
    assert job.to_json()["title"] == "Doubling 21"


def test_it_is_done_in_another_process(jobs: Jobs) -> None:
    job = jobs.wait(jobs.submit("p", work.process).id, PATIENCE)
    assert jobs.result(job.id) != os.getpid()


def test_the_same_work_is_not_done_twice(jobs: Jobs) -> None:
    first = jobs.submit("s", work.slow, (30.0,), "same")
    assert jobs.submit("s", work.slow, (30.0,), "same").id == first.id
    assert jobs.find("same") is not None
    jobs.cancel(first.id)
    assert jobs.find("same") is None
    again = jobs.submit("s", work.double, (1,), "same")
    assert again.id != first.id
    assert jobs.wait(again.id, PATIENCE).state == "done"


def test_it_says_how_far_it_is_and_stops_when_told(jobs: Jobs) -> None:
    job = jobs.submit("s", work.slow, (60.0,))
    until(lambda: (jobs.get(job.id).progress or 0) > 0)
    began = time.monotonic()
    assert jobs.cancel(job.id).state == "cancelled"
    assert time.monotonic() - began < 3
    assert jobs.cancel(job.id).state == "cancelled"


def test_a_job_that_waits_is_cancelled_at_once() -> None:
    queue = Jobs(1, modules=())
    first = queue.submit("s", work.slow, (60.0,))
    second = queue.submit("s", work.double, (1,))
    assert queue.cancel(second.id).state == "cancelled"
    assert queue.cancel(first.id).state == "cancelled"
    third = queue.submit("s", work.double, (2,))
    assert queue.wait(third.id, PATIENCE).state == "done"
    queue.close()


@pytest.mark.parametrize(
    ("function", "words"),
    [
        (work.unreadable, "Bar 3 is longer than its time signature."),
        (work.faulty, "fault of the program"),
        (work.crash, "broke down"),
    ],
)
def test_a_failure_is_one_clear_line(jobs: Jobs, function: Callable[..., None], words: str) -> None:
    job = jobs.wait(jobs.submit("f", function).id, PATIENCE)
    assert job.state == "failed"
    assert words in job.error
    after = jobs.wait(jobs.submit("sum", work.double, (3,)).id, PATIENCE)
    assert after.state == "done"


def test_it_may_not_take_for_ever(jobs: Jobs) -> None:
    job = jobs.wait(jobs.submit("s", work.slow, (60.0,), limit=0.5).id, PATIENCE)
    assert job.state == "failed"
    assert "longer than 0.5 seconds" in job.error


def test_a_library_that_prints_does_no_harm(jobs: Jobs) -> None:
    job = jobs.wait(jobs.submit("t", work.talks).id, PATIENCE)
    assert jobs.result(job.id) == "said"


def test_what_cannot_be_kept_fails_and_says_so(jobs: Jobs) -> None:
    def keep(_: object) -> None:
        raise OSError("no space left")

    job = jobs.wait(jobs.submit("k", work.double, (1,), keep=keep).id, PATIENCE)
    assert job.state == "failed"
    assert "could not be kept: no space left" in job.error


def test_work_that_nobody_waits_for_leaves_a_worker_free(jobs: Jobs) -> None:
    later: list[Job] = [jobs.submit("s", work.slow, (60.0,), urgent=False) for _ in range(3)]
    now = jobs.wait(jobs.submit("sum", work.double, (4,)).id, PATIENCE)
    assert now.state == "done"
    for job in later:
        jobs.cancel(job.id)
    assert {jobs.get(job.id).state for job in later} == {"cancelled"}


def test_jobs_near_one_another_go_to_the_same_worker(jobs: Jobs) -> None:
    seen = set()
    for _ in range(4):
        job = jobs.wait(jobs.submit("p", work.process, near="evening").id, PATIENCE)
        seen.add(jobs.result(job.id))
        time.sleep(0.02)
    assert len(seen) == 1


def test_old_jobs_are_forgotten(jobs: Jobs) -> None:
    first = jobs.submit("sum", work.double, (1,))
    for number in range(FINISHED_KEPT + 1):
        last = jobs.submit("sum", work.double, (number,))
    jobs.wait(last.id, PATIENCE)
    until(lambda: not jobs.unfinished())
    with pytest.raises(UnknownJobError):
        jobs.get(first.id)


def test_cancelling_leaves_no_process_behind(tmp_path: Path) -> None:
    queue = Jobs(1, modules=())
    told = tmp_path / "child"
    job = queue.submit("c", work.with_a_child, (str(told),))
    until(lambda: told.exists() and told.read_text() != "")
    queue.cancel(job.id)
    until(lambda: not running(int(told.read_text())))
    queue.close()


@pytest.mark.skipif(not hasattr(os, "killpg"), reason="process groups are POSIX's")
def test_a_server_that_is_killed_takes_its_workers_along(tmp_path: Path) -> None:
    told = tmp_path / "child"
    code = (
        "import time\n"
        "from passagework.web.jobs import Jobs\n"
        "from tests.web import work\n"
        f"Jobs(1, modules=()).submit('c', work.with_a_child, ({str(told)!r},))\n"
        "time.sleep(600)\n"
    )
    server = subprocess.Popen([sys.executable, "-c", code], cwd=Path(__file__).parents[2])
    until(lambda: told.exists() and told.read_text() != "")
    server.send_signal(signal.SIGKILL)
    server.wait()
    until(lambda: not running(int(told.read_text())))


def test_a_queue_that_is_closed_takes_nothing() -> None:
    queue = Jobs(1, modules=())
    queue.close()
    with pytest.raises(RuntimeError, match="stopping"):
        queue.submit("sum", work.double, (1,))
