"""A worker process from outside: started when first needed, ended when it takes too long or is told to."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from passagework.web.jobs.worker import read_message, write_message

_ROOT: Final = str(Path(__file__).resolve().parents[3])
_COMMAND: Final = "from passagework.web.jobs.worker import serve; serve()"
_OWN_GROUP: Final = hasattr(os, "killpg")

CLEAR: Final = frozenset(
    {
        "ScoreError",
        "EngravingError",
        "SoundError",
        "StudioError",
        "TakeError",
        "ListeningError",
        "ClearError",
        "ValueError",
    }
)
"""Classes of errors whose message is written for the teacher."""


class WorkError(Exception):
    """A job came to nothing: one sentence for the teacher."""


class StoppedError(WorkError):
    """A job was told to stop."""


class Worker:
    """One process. `run` is called by one thread at a time; `stop` by any."""

    def __init__(self, modules: tuple[str, ...]) -> None:
        self._modules = modules
        self._process: subprocess.Popen[bytes] | None = None
        self._current: threading.Event | None = None
        self._lock = threading.RLock()

    def start(self) -> None:
        """Start the process, and let it load what it will need, before there is a job."""
        self._alive()

    def run(
        self,
        name: str,
        arguments: tuple[Any, ...],
        limit: float,
        say: Callable[[float | None, str], None],
        stopped: threading.Event,
    ) -> Any:
        """Do one job; gives what the function returned. `stopped` is the job's own: see `stop`.

        Raises `StoppedError` where it was stopped, `WorkError` where it failed, crashed, or took over `limit` seconds.
        """
        with self._lock:
            if stopped.is_set():
                raise StoppedError("stopped")
            self._current = stopped
            process = self._alive()
        late = threading.Event()
        timer = threading.Timer(limit, self._end_late, (process, late))
        timer.daemon = True
        timer.start()
        try:
            assert process.stdin is not None
            assert process.stdout is not None
            write_message(process.stdin, ("job", name, arguments))
            while (answer := read_message(process.stdout))[0] == "report":
                say(answer[1], answer[2])
        except (EOFError, OSError):
            self.kill()
            if stopped.is_set():
                raise StoppedError("stopped") from None
            if late.is_set():
                raise WorkError(f"This took longer than {limit:g} seconds and was ended.") from None
            raise WorkError("The program broke down over this. Nothing else is affected.") from None
        finally:
            timer.cancel()
            with self._lock:
                self._current = None
            if stopped.is_set() or late.is_set():
                self.kill()  # it may have been ended a moment after it answered
        if answer[0] == "failed":
            raise WorkError(_sentence(*answer[1:]))
        return answer[1]

    def stop(self, stopped: threading.Event) -> None:
        """End the job whose event this is: now if it runs, at its start if it has not begun."""
        with self._lock:
            stopped.set()
            if self._current is stopped and self._process is not None:
                _end(self._process)

    def kill(self) -> None:
        """End the process and all that it started."""
        with self._lock:
            process, self._process = self._process, None
        if process is None:
            return
        _end(process)
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()

    @staticmethod
    def _end_late(process: subprocess.Popen[bytes], late: threading.Event) -> None:
        late.set()
        _end(process)

    def _alive(self) -> subprocess.Popen[bytes]:
        with self._lock:
            if self._process is None or self._process.poll() is not None:
                self._process = _spawn()
                assert self._process.stdin is not None
                with contextlib.suppress(OSError):
                    write_message(self._process.stdin, ("prepare", sys.path, self._modules))
            return self._process


def _spawn() -> subprocess.Popen[bytes]:
    paths = [_ROOT, os.environ.get("PYTHONPATH", "")]
    return subprocess.Popen(
        [sys.executable, "-P", "-c", _COMMAND],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in paths if p)},
        # Ctrl-C in the terminal is the server's to handle.
        start_new_session=_OWN_GROUP,
    )


def _end(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(OSError):
        if _OWN_GROUP and process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.kill()


def _sentence(name: str, families: tuple[str, ...], text: str) -> str:
    if CLEAR & set(families) and text:
        line = " ".join(text.split())[:300]
        return line[0].upper() + line[1:] + ("" if line.endswith((".", "?")) else ".")
    return f"A fault of the program, not of your file ({name}). Nothing else is affected."
