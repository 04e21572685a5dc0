"""Measuring on this machine: a thread for each reader, which waits while the reader works."""

from __future__ import annotations

import os
import queue
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import replace
from itertools import islice
from typing import Final

from passagework.survey.reader import Limits, Reader
from passagework.survey.row import Row
from passagework.survey.serve import Job

MEMORY_IN_ALL_MB: Final = 1500.0
"""What the survey is to stay within, all its processes together."""

OWN_MB: Final = 250.0
PROGRAM_MB: Final = 80.0
"""What the survey's own process and the program in each reader take."""

LEAST_MB: Final = 250.0
"""What a score may take however many readers there are; the largest sonatas take 120 MB."""

AHEAD: Final = 2
"""Jobs for each reader that are under way or waiting, so that no reader waits."""


def cores() -> int:
    """Cores that this process may use."""
    affinity = getattr(os, "sched_getaffinity", None)
    return len(affinity(0)) if affinity else os.cpu_count() or 1


def limits_for(workers: int, limits: Limits) -> Limits:
    """Limits under which so many readers stay within `MEMORY_IN_ALL_MB` together, as far as `LEAST_MB` lets them."""
    share = (MEMORY_IN_ALL_MB - OWN_MB) / workers - PROGRAM_MB
    return replace(limits, memory_mb=max(min(limits.memory_mb, share), LEAST_MB))


def measure_here(
    jobs: Iterable[Job], workers: int, limits: Limits
) -> Iterator[tuple[Job, Row | None]]:
    """Every job with its row as it comes. `jobs` is taken from little by little."""
    readers = [Reader(limits) for _ in range(workers)]
    idle: queue.SimpleQueue[Reader] = queue.SimpleQueue()
    for reader in readers:
        idle.put(reader)

    def measure(job: Job) -> Row | None:
        reader = idle.get()
        try:
            return reader.measure(job)
        finally:
            idle.put(reader)

    source = iter(jobs)
    running: dict[Future[Row | None], Job] = {}
    pool = ThreadPoolExecutor(workers)
    try:
        while True:
            for job in islice(source, workers * AHEAD - len(running)):
                running[pool.submit(measure, job)] = job
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in done:
                yield running.pop(future), future.result()
    finally:
        for future in running:
            future.cancel()
        for reader in readers:
            reader.close()
        pool.shutdown(wait=True, cancel_futures=True)
        for reader in readers:
            reader.close()
