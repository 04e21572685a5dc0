"""A reader seen from the survey: a process that is handed one score at a time, and replaced where it fails."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
from dataclasses import dataclass
from typing import Any, Final

from passagework.survey.row import Row, error_row
from passagework.survey.serve import Job, receive, send

SECONDS_A_SCORE: Final = 120.0
"""Longest time for one score. The largest that is read at all (60,000 notes) takes some 40 s of processor time."""

SCORES_A_READER: Final = 250
"""Scores after which a reader is replaced, so that memory which libraries lose does not add up."""


@dataclass(frozen=True)
class Limits:
    """What one score may take."""

    seconds: float = SECONDS_A_SCORE
    memory_mb: float = 550.0
    """On top of what the program itself takes, about 80 MB."""
    scores: int = SCORES_A_READER


class Reader:
    """One process at a time, started when there is something to do."""

    def __init__(self, limits: Limits) -> None:
        self._limits = limits
        self._process: subprocess.Popen[bytes] | None = None
        self._done = 0

    def measure(self, job: Job) -> Row | None:
        """The row of a score; None where its bytes are the known ones. Whatever happens to the process is told in the row."""
        process = self._running()
        late = threading.Event()

        def stop() -> None:
            late.set()
            process.kill()

        timer = threading.Timer(self._limits.seconds, stop)
        timer.daemon = True
        timer.start()
        try:
            assert process.stdin is not None
            assert process.stdout is not None
            send(process.stdin, job)
            row: Row | None = receive(process.stdout)
        except (EOFError, OSError):
            self.close()
            return self._failed(job, late.is_set(), process.returncode)
        finally:
            timer.cancel()
        self._done += 1
        if self._done >= self._limits.scores:
            self.close()
        return row

    def _failed(self, job: Job, late: bool, status: int | None) -> Row:
        if late:
            said = f"it takes longer than {self._limits.seconds:g} seconds to read"
            row = error_row(job.path, job.reach_cm, "time", said)
        else:
            said = f"the process that read it ended ({_ending(status)})"
            row = error_row(job.path, job.reach_cm, "crash", said)
        return row | {"size": job.size, "modified": job.modified}

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is None:
            self._process = _start()
            self._done = 0
            assert self._process.stdin is not None
            with contextlib.suppress(OSError):
                send(self._process.stdin, (self._limits.memory_mb, self._limits.seconds))
        return self._process

    def close(self) -> None:
        """End the process, whatever it does; it holds nothing that could be lost."""
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            with contextlib.suppress(OSError):
                if stream is not None:
                    stream.close()


def _start() -> subprocess.Popen[Any]:
    return subprocess.Popen(
        [sys.executable, "-m", "passagework.survey.serve"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )


def _ending(status: int | None) -> str:
    if status is not None and status < 0:
        return f"signal {-status}"
    return f"status {status}"
