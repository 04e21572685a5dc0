"""The queue in front of the workers: what waits, what runs, what has come of it."""

from __future__ import annotations

import contextlib
import secrets
import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any, Final

from passagework.web.jobs.process import StoppedError, Worker, WorkError
from passagework.web.jobs.state import Job

FINISHED_KEPT: Final = 64
"""Jobs whose end is remembered, with what they returned."""
WAITING_AT_MOST: Final = 5000
"""Jobs that may wait: more than anybody drops at once."""
HOMES_KEPT: Final = 1000
"""Names of what workers may hold in memory that are remembered."""
TIME_LIMIT: Final = 300.0
"""Seconds a job may take when nothing else is said: the longest scores take a tenth of it."""
WARM: Final = ("passagework.guide.preparation", "passagework.exercises.study")
"""What a worker loads before its first job."""


class UnknownJobError(LookupError):
    """There is no job of this id, or it ended long ago."""


@dataclass
class _Entry:
    job: Job
    function: str
    arguments: tuple[Any, ...]
    near: str
    urgent: bool
    limit: float
    keep: Callable[[Any], object] | None
    result: Any = None
    worker: Worker | None = None
    stopped: threading.Event = field(default_factory=threading.Event)
    over: threading.Event = field(default_factory=threading.Event)


class Jobs:
    """A queue and its worker processes, which start when first needed. Safe to share by threads."""

    def __init__(self, workers: int = 2, modules: tuple[str, ...] = WARM) -> None:
        self._workers = [Worker(modules) for _ in range(max(1, workers))]
        self._entries: OrderedDict[str, _Entry] = OrderedDict()
        self._waiting: list[_Entry] = []
        self._idle: set[int] = set()
        self._homes: dict[str, int] = {}
        self._change = threading.Condition()
        self._closed = False
        self._threads = [
            threading.Thread(target=self._work, args=(at,), name=f"jobs-{at}", daemon=True)
            for at in range(len(self._workers))
        ]
        for thread in self._threads:
            thread.start()

    def warm(self) -> None:
        """Start the workers now, so that the first job need not wait for them."""
        for worker in self._workers:
            worker.start()

    def submit(
        self,
        kind: str,
        function: Callable[..., Any],
        args: tuple[Any, ...] = (),
        key: str = "",
        *,
        title: str = "",
        near: str = "",
        urgent: bool = True,
        limit: float = TIME_LIMIT,
        keep: Callable[[Any], object] | None = None,
    ) -> Job:
        """Put a job in the queue, or find the one of the same `key` that has not ended.

        Raises `RuntimeError` where too many wait or the queue is closed.
        """
        with self._change:
            if self._closed:
                raise RuntimeError("the program is stopping")
            known = self._unfinished(key) if key else None
            if known is not None:
                return known.job
            if len(self._waiting) >= WAITING_AT_MOST:
                raise RuntimeError("too much is waiting already; try again in a while")
            job = Job(secrets.token_urlsafe(9), kind, key, title or kind)
            name = f"{function.__module__}:{function.__qualname__}"
            entry = _Entry(job, name, args, near, urgent, limit, keep)
            self._entries[job.id] = entry
            self._waiting.append(entry)
            self._change.notify_all()
            return job

    def get(self, identity: str) -> Job:
        """The job as it is now. Raises `UnknownJobError`."""
        return self._entry(identity).job

    def find(self, key: str) -> Job | None:
        """The job of this key that has not ended, if there is one."""
        with self._change:
            entry = self._unfinished(key)
            return entry.job if entry else None

    def result(self, identity: str) -> Any:
        """What the job returned; None before it is done. Raises `UnknownJobError`."""
        return self._entry(identity).result

    def wait(self, identity: str, seconds: float) -> Job:
        """Wait for the end of a job for at most `seconds`; gives the job as it is then."""
        entry = self._entry(identity)
        entry.over.wait(seconds)
        return entry.job

    def cancel(self, identity: str) -> Job:
        """End a job that waits or runs; one that is over stays as it is. Raises `UnknownJobError`."""
        with self._change:
            entry = self._entry(identity)
            if entry in self._waiting:
                self._waiting.remove(entry)
                self._finish(entry, state="cancelled")
                return entry.job
            if entry.worker is not None:
                entry.worker.stop(entry.stopped)
        entry.over.wait(5)
        return entry.job

    def unfinished(self) -> tuple[Job, ...]:
        """All that waits or runs, oldest first."""
        with self._change:
            return tuple(e.job for e in self._entries.values() if not e.job.over)

    def forget(self) -> None:
        """Forget what has ended, with its titles and results."""
        with self._change:
            for identity in [i for i, e in self._entries.items() if e.job.over]:
                del self._entries[identity]

    def close(self) -> None:
        """End everything."""
        with self._change:
            self._closed = True
            for entry in self._waiting:
                self._finish(entry, state="cancelled")
            self._waiting.clear()
            for entry in self._entries.values():
                if entry.worker is not None:
                    entry.worker.stop(entry.stopped)
            self._change.notify_all()
        for thread in self._threads:
            thread.join(5)
        for worker in self._workers:
            worker.kill()

    def _entry(self, identity: str) -> _Entry:
        with self._change:
            try:
                return self._entries[identity]
            except KeyError:
                raise UnknownJobError(
                    "this work is over and forgotten; open the page again"
                ) from None

    def _unfinished(self, key: str) -> _Entry | None:
        rows = (e for e in self._entries.values() if e.job.key == key and not e.job.over)
        return next(rows, None)

    def _work(self, at: int) -> None:
        while (entry := self._take(at)) is not None:
            self._do(entry, self._workers[at])
        self._workers[at].kill()

    def _take(self, at: int) -> _Entry | None:
        with self._change:
            self._idle.add(at)
            while not self._closed:
                entry = next((e for e in self._in_order() if self._suits(e, at)), None)
                if entry is not None:
                    self._idle.discard(at)
                    self._waiting.remove(entry)
                    if entry.near:
                        if len(self._homes) >= HOMES_KEPT:
                            self._homes.clear()
                        self._homes[entry.near] = at
                    entry.worker = self._workers[at]
                    entry.job = replace(entry.job, state="running")
                    return entry
                self._change.wait()
            return None

    def _in_order(self) -> list[_Entry]:
        return sorted(self._waiting, key=lambda e: not e.urgent)

    def _suits(self, entry: _Entry, at: int) -> bool:
        """Whether worker `at` should take it: the first is kept for what somebody waits for."""
        if not entry.urgent and at == 0 and len(self._workers) > 1:
            return False
        home = self._homes.get(entry.near, at) if entry.near else at
        return home == at or home not in self._idle

    def _do(self, entry: _Entry, worker: Worker) -> None:
        def say(share: float | None, words: str) -> None:
            share = None if share is None else min(1.0, max(0.0, share))
            entry.job = replace(entry.job, progress=share, words=words or entry.job.words)

        try:
            result = worker.run(entry.function, entry.arguments, entry.limit, say, entry.stopped)
            if entry.keep is not None:
                entry.keep(result)
        except StoppedError:
            change: dict[str, Any] = {"state": "cancelled"}
        except WorkError as error:
            change = {"state": "failed", "error": str(error)}
        except Exception as error:  # a full disk, a piece deleted meanwhile
            change = {"state": "failed", "error": f"What was worked out could not be kept: {error}"}
        else:
            entry.result = result
            change = {"state": "done", "progress": 1.0}
        with self._change:
            self._finish(entry, **change)
            self._change.notify_all()

    def _finish(self, entry: _Entry, **change: Any) -> None:
        entry.job = replace(entry.job, **change)
        entry.arguments, entry.keep, entry.worker = (), None, None
        entry.over.set()
        over = [identity for identity, e in self._entries.items() if e.job.over]
        for identity in over[: max(0, len(over) - FINISHED_KEPT)]:
            with contextlib.suppress(KeyError):
                del self._entries[identity]
