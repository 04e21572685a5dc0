"""The inside of a worker process: takes one job after the other from its input, answers on its output.

A message is a length (eight bytes, big end first) and that many bytes of pickle; both ends are this program. When the server
goes, however it goes, the input ends and the worker and all that it started go too.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import pickle
import queue
import signal
import struct
import sys
import threading
import time
from collections.abc import Callable
from typing import IO, Any, Final

HEADER: Final = struct.Struct(">Q")
SAY_EVERY: Final = 0.05
"""Seconds between two reports at least: a job may report for every bar."""


def write_message(stream: IO[bytes], message: Any) -> None:
    """Write one message."""
    data = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
    stream.write(HEADER.pack(len(data)))
    stream.write(data)
    stream.flush()


def read_message(stream: IO[bytes]) -> Any:
    """Read one message; raises `EOFError` where the other side has gone."""
    head = stream.read(HEADER.size)
    if len(head) < HEADER.size:
        raise EOFError
    (size,) = HEADER.unpack(head)
    data = stream.read(size)
    if len(data) < size:
        raise EOFError
    return pickle.loads(data)


def serve() -> None:
    """Answer jobs until the input ends."""
    asked = os.fdopen(os.dup(0), "rb")
    answers = os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    os.dup2(nowhere, 0)
    os.dup2(nowhere, 1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    waiting: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(asked, waiting), daemon=True).start()
    while True:
        message = waiting.get()
        if message[0] == "prepare":
            _prepare(*message[1:])
            continue
        _, name, arguments = message
        try:
            answer = ("done", _function(name)(_Report(answers), *arguments))
            data = pickle.dumps(answer, protocol=pickle.HIGHEST_PROTOCOL)
        except Exception as error:  # whatever it was, the answer must arrive
            data = pickle.dumps(("failed", type(error).__name__, _families(error), str(error)))
        answers.write(HEADER.pack(len(data)))
        answers.write(data)
        answers.flush()


def _listen(stream: IO[bytes], waiting: queue.SimpleQueue[Any]) -> None:
    """Read ahead, so that the end of the server is noticed in the middle of a job."""
    try:
        while True:
            waiting.put(read_message(stream))
    except (EOFError, OSError, pickle.UnpicklingError):
        # The engraver's process belongs to the worker's own group: nothing is left behind.
        with contextlib.suppress(OSError, AttributeError):
            os.killpg(os.getpgrp(), signal.SIGKILL)
        os._exit(0)


def _prepare(path: list[str], modules: tuple[str, ...]) -> None:
    """Look for modules where the server does, and load what will be needed."""
    sys.path[:] = path
    for module in modules:
        with contextlib.suppress(Exception):  # the job that needs it will say so
            importlib.import_module(module)


def _function(name: str) -> Callable[..., Any]:
    module, _, attribute = name.partition(":")
    function: Callable[..., Any] = getattr(importlib.import_module(module), attribute)
    return function


def _families(error: Exception) -> tuple[str, ...]:
    """The names of an error's classes, by which the server knows whose fault it was."""
    return tuple(kind.__name__ for kind in type(error).__mro__)


class _Report:
    def __init__(self, stream: IO[bytes]) -> None:
        self._stream = stream
        self._last = 0.0

    def __call__(self, share: float | None, words: str = "") -> None:
        now = time.monotonic()
        if now - self._last >= SAY_EVERY:
            self._last = now
            write_message(self._stream, ("report", share, words))
