"""The engraver from outside: a process beside the program, with a time limit on every job.

`Engraver.start` returns at once, so that the program can think about the music while it is drawn.
"""

from __future__ import annotations

import contextlib
import os
import queue
import subprocess
import sys
import threading
from concurrent.futures import Future
from concurrent.futures import TimeoutError as FutureTimeout
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from passagework.engraving.errors import EngravingError
from passagework.engraving.layout import Layout
from passagework.engraving.system import EngravedSystem, Engraving
from passagework.engraving.worker import read_message, write_message
from passagework.score.notation import Notation

TIME_LIMIT: Final = 10.0
"""Seconds for any job."""
TIME_PER_NOTE: Final = 0.01
"""Further seconds for every note, some twenty times what two busy cores took."""

_ROOT: Final = str(Path(__file__).resolve().parents[2])
_COMMAND: Final = "from passagework.engraving.worker import serve; serve()"


@dataclass(frozen=True)
class Pending:
    """Music that is being engraved."""

    _future: Future[Engraving]

    def result(self, seconds: float | None = None) -> Engraving:
        """Wait for it. Raises `EngravingError` where it failed, or is not ready after `seconds`."""
        try:
            return self._future.result(seconds)
        except FutureTimeout:
            raise EngravingError("engraving is not ready yet") from None

    def done(self) -> bool:
        """Whether `result` would return, or raise, at once."""
        return self._future.done()


class Engraver:
    """A worker's process and the queue in front of it; a context manager. Safe to share by threads."""

    def __init__(
        self, time_limit: float = TIME_LIMIT, time_per_note: float = TIME_PER_NOTE
    ) -> None:
        self.time_limit = time_limit
        self.time_per_note = time_per_note
        self._queue: queue.SimpleQueue[tuple[dict[str, Any], Future[Engraving]] | None] = (
            queue.SimpleQueue()
        )
        self._process: subprocess.Popen[bytes] | None = None
        self._closed = False
        self._thread = threading.Thread(target=self._run, name="engraver", daemon=True)
        self._thread.start()

    def start(
        self, notation: Notation, layout: Layout | None = None, *, natural: bool = False
    ) -> Pending:
        """Begin to engrave `notation`; `natural` leaves a short last system at its own width."""
        layout = layout or Layout()
        future: Future[Engraving] = Future()
        if self._closed:
            raise EngravingError("the engraver has been closed")
        job = {
            "xml": notation.to_bytes(),
            "width": layout.music_width,
            "justify": layout.justify_last,
            "natural": natural,
        }
        self._queue.put((job, future))
        return Pending(future)

    def close(self) -> None:
        """End the process; what is still waiting fails."""
        self._closed = True
        self._queue.put(None)
        self._kill()
        if threading.current_thread() is not self._thread:
            self._thread.join(5)

    def __enter__(self) -> Engraver:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _run(self) -> None:
        while True:
            item = self._queue.get()
            if item is None:
                break
            job, future = item
            if not future.set_running_or_notify_cancel():
                continue
            try:
                future.set_result(self._answer(job))
            except EngravingError as error:
                future.set_exception(error)
            except Exception as error:  # a broken pipe, a message cut short
                self._kill()
                future.set_exception(EngravingError(f"the music could not be engraved ({error})"))
        self._drain()
        self._kill()

    def _drain(self) -> None:
        while not self._queue.empty():
            item = self._queue.get()
            if item is not None:
                item[1].set_exception(EngravingError("the engraver has been closed"))

    def _answer(self, job: dict[str, Any]) -> Engraving:
        job = {**job, "xml": _without_declaration(job["xml"])}
        process = self._alive()
        late = threading.Event()
        limit = self.time_limit + self.time_per_note * job["xml"].count("<note")
        timer = threading.Timer(limit, self._stop_late, (process, late))
        timer.daemon = True
        timer.start()
        try:
            assert process.stdin is not None
            assert process.stdout is not None
            write_message(process.stdin, job)
            answer = read_message(process.stdout)
        except (EOFError, OSError, ValueError):
            self._kill()
            if late.is_set():
                raise EngravingError(
                    f"the music took longer than {limit:g} seconds to engrave"
                ) from None
            raise EngravingError("the engraver broke down over this music") from None
        finally:
            timer.cancel()
        if "error" in answer:
            raise EngravingError(f"the music could not be engraved ({answer['error']})")
        systems = tuple(EngravedSystem.from_json(s) for s in answer["systems"])
        if not systems:
            raise EngravingError("there is nothing to engrave")
        return Engraving(systems, dict(answer["outlines"]))

    @staticmethod
    def _stop_late(process: subprocess.Popen[bytes], late: threading.Event) -> None:
        late.set()
        process.kill()

    def _alive(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self._process = _spawn()
        return self._process

    def _kill(self) -> None:
        process, self._process = self._process, None
        if process is None:
            return
        process.kill()
        process.wait()
        for stream in (process.stdin, process.stdout):
            if stream is not None:
                with contextlib.suppress(OSError):
                    stream.close()


def _spawn() -> subprocess.Popen[bytes]:
    paths = [_ROOT, os.environ.get("PYTHONPATH", "")]
    return subprocess.Popen(
        [sys.executable, "-P", "-c", _COMMAND],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in paths if p)},
    )


def _without_declaration(xml: bytes) -> str:
    """The document as text: an encoding that is declared would contradict it."""
    text = xml.decode("utf-8")
    return text[text.index("?>") + 2 :] if text.startswith("<?xml") else text
