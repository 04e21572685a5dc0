"""A reader's process: takes jobs on its standard input and gives rows on its standard output until the input ends.

    python -m passagework.survey.serve

It lives apart from the survey so that a score which crashes it, hangs it or needs all memory costs one row and no more.
"""

from __future__ import annotations

import gc
import os
import pickle
import signal
import struct
from collections.abc import Callable
from typing import IO, Any, Final, NamedTuple

LENGTH: Final = struct.Struct(">Q")
"""What goes before every message: its length in bytes."""

AFTERWARDS_S: Final = 10
"""Seconds of processor time beyond the limit of a score after which a reader that nobody stops ends itself."""


class Job(NamedTuple):
    """A score to be measured."""

    path: str
    location: str
    data: bytes | None
    """Its bytes, where no other process can read them."""
    size: int
    modified: int | None
    known_hash: str | None
    """Hash of the same file when it was last measured; where it is the same, nothing is to be done."""
    reach_cm: float


def send(stream: IO[bytes], value: Any) -> None:
    """Write one message. Raises `OSError` where nobody reads."""
    data = pickle.dumps(value, protocol=5)
    stream.write(LENGTH.pack(len(data)) + data)
    stream.flush()


def receive(stream: IO[bytes]) -> Any:
    """Read one message. Raises `EOFError` where the other side has ended."""
    head = stream.read(LENGTH.size)
    if len(head) < LENGTH.size:
        raise EOFError
    (length,) = LENGTH.unpack(head)
    data = stream.read(length)
    if len(data) < length:
        raise EOFError
    return pickle.loads(data)


def measure_job(job: Job) -> dict[str, Any] | None:
    """The row of a score; None where its bytes are those that were measured before."""
    from passagework.survey import row as rows
    from passagework.survey.source import read_location

    data = None
    try:
        data = job.data if job.data is not None else read_location(job.location)
        hash_ = rows.content_hash(data)
        if hash_ == job.known_hash:
            return None
        row = rows.measured_row(data, job.path, job.reach_cm)
    except OSError as error:
        said = f"the file cannot be read: {error.strerror or error}"
        row = rows.error_row(job.path, job.reach_cm, "file", said)
    except MemoryError:
        said = "it needs more memory than a score may; export one movement at a time"
        row = rows.error_row(
            job.path, job.reach_cm, "memory", said, rows.content_hash(data) if data else None
        )
    return rows.as_text({"size": job.size} | row | {"modified": job.modified})


def serve(source: IO[bytes], target: IO[bytes]) -> None:
    """Do jobs until there are no more. The first message is the limits: MB of memory and seconds, for one score."""
    memory_mb, seconds = receive(source)
    _limit_memory(memory_mb)
    limit_time = _time_limit(seconds)
    gc.disable()  # what a score leaves is looked for once it is done, and what was there before is not looked at
    gc.freeze()
    while True:
        try:
            job = receive(source)
        except EOFError:
            return
        limit_time()
        row = measure_job(job)
        send(target, row)
        del job, row
        gc.collect()


def _limit_memory(megabytes: float) -> None:
    """Let one score take so much on top of what the program itself has; where the system can be asked that."""
    try:
        import resource

        with open("/proc/self/statm", encoding="ascii") as stream:
            held = int(stream.read().split()[5]) * resource.getpagesize()
        most = held + int(megabytes * 1_000_000)
        resource.setrlimit(resource.RLIMIT_DATA, (most, most))
    except (ImportError, AttributeError, OSError, ValueError):
        return


def _time_limit(seconds: float) -> Callable[[], None]:
    """A backstop for a reader whose survey was killed in the middle of a score that takes for ever."""
    try:
        import resource
    except ImportError:
        return lambda: None

    def limit() -> None:
        used = resource.getrusage(resource.RUSAGE_SELF)
        most = int(used.ru_utime + used.ru_stime + seconds) + AFTERWARDS_S
        _, hard = resource.getrlimit(resource.RLIMIT_CPU)
        if hard == resource.RLIM_INFINITY or most < hard:
            resource.setrlimit(resource.RLIMIT_CPU, (most, hard))

    return limit


def main() -> None:
    """The process. What libraries print must not come among the rows."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # readers share the cores among themselves
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the survey ends its readers
    target = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)
    import passagework.survey.row  # noqa: F401 (loaded before anything is limited or counted)

    with os.fdopen(os.dup(0), "rb") as source, target:
        os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
        try:
            serve(source, target)
        except BrokenPipeError:
            os._exit(0)


if __name__ == "__main__":
    main()
