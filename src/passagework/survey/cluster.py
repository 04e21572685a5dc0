"""Measuring on a Dask cluster: batches of scores as tasks, each with a reader of its own on the machine that does it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import TYPE_CHECKING, Any, Final

from passagework import __version__
from passagework.survey.errors import SurveyError
from passagework.survey.reader import Limits, Reader
from passagework.survey.row import Row, error_row
from passagework.survey.serve import Job

if TYPE_CHECKING:
    from distributed import Client

SCORES_A_TASK: Final = 48
"""Scores in one task: half a minute of work, of which the start of its reader takes a fiftieth."""

TASKS_A_THREAD: Final = 2
"""Tasks under way for each thread of the cluster, so that none waits and none is far ahead."""

TASKS_IN_ALL: Final = 4
"""Tasks that each thread gets at least where there are few scores, so that all end at about the same time."""

CONNECT_S: Final = 10


def program_version() -> str:
    """Version of the program where it is asked."""
    return __version__


def measure_batch(jobs: Sequence[Job], limits: Limits) -> list[Row | None]:
    """A task: the rows of a few scores, in their order."""
    reader = Reader(limits)
    try:
        return [reader.measure(job) for job in jobs]
    finally:
        reader.close()


def measure_there(
    address: str, jobs: Iterable[Job], count: int, limits: Limits
) -> Iterator[tuple[Job, Row | None]]:
    """Every job with its row as it comes, measured by the cluster of the scheduler at `address`; `count` is about how many.

    Raises `SurveyError` where the cluster cannot be reached, has no worker, or has another version of the program.
    """
    try:
        from distributed import Client
    except ImportError:
        raise SurveyError(
            "a cluster needs the extra 'cluster': pip install 'passagework[cluster]'"
        ) from None
    try:
        client = Client(address, timeout=CONNECT_S, set_as_default=False)
    except (OSError, ValueError, TypeError) as error:
        line = " ".join(str(error).split())
        raise SurveyError(f"no scheduler answers at {address}: {line}") from None
    with client:
        threads = _threads(client, address)
        yield from _gathered(client, iter(jobs), threads, count, limits)


def _threads(client: Client, address: str) -> int:
    versions = client.run(program_version, on_error="return")
    if not versions:
        raise SurveyError(
            f"the scheduler at {address} has no workers yet; start some, then run again"
        )
    for worker, version in versions.items():
        if version != __version__:
            said = version if isinstance(version, str) else "none"
            raise SurveyError(
                f"worker {worker} has version {said} of the program; this is {__version__}"
            )
    return max(sum(map(int, client.nthreads().values())), 1)


def _gathered(
    client: Client, jobs: Iterator[Job], threads: int, count: int, limits: Limits
) -> Iterator[tuple[Job, Row | None]]:
    from distributed import CancelledError, as_completed

    size = max(1, min(SCORES_A_TASK, count // (threads * TASKS_IN_ALL)))
    done = as_completed(loop=client.loop)
    running: dict[str, list[Job]] = {}

    def submit(batch: list[Job]) -> None:
        future = client.submit(measure_batch, batch, limits, pure=False)
        running[future.key] = batch
        done.add(future)

    def fill() -> None:
        while len(running) < threads * TASKS_A_THREAD:
            batch = list(islice(jobs, size))
            if not batch:
                return
            submit(batch)

    fill()
    while running:
        future: Any = next(done)
        batch = running.pop(future.key)
        if future.status == "finished":
            yield from zip(batch, future.result(), strict=True)
        elif future.status == "lost" or isinstance(future.exception(), CancelledError):
            raise SurveyError(
                "the scheduler was lost; what was measured is kept, run again to go on"
            )
        elif len(batch) > 1:
            for job in batch:  # which of them it was is found by asking for each alone
                submit([job])
        else:
            yield batch[0], _failed(batch[0], future.exception())
        future.release()
        fill()


def _failed(job: Job, error: BaseException | None) -> Row:
    said = f"the worker of the cluster ended ({type(error).__name__})"
    row = error_row(job.path, job.reach_cm, "crash", said)
    return row | {"size": job.size, "modified": job.modified}
