"""Work for the tests of the jobs: done in the worker's process."""

from __future__ import annotations

import os
import time

from passagework.score.errors import ScoreError
from passagework.web.jobs import Report

HELD: dict[str, int] = {}


def double(report: Report, number: int) -> int:
    report(0.5, "Doubling")
    return 2 * number


def slow(report: Report, seconds: float) -> str:
    for step in range(1000):
        report(step / 1000, f"step {step}")
        time.sleep(seconds / 1000)
    return "slow"


def unreadable(_report: Report) -> None:
    raise ScoreError("bar 3 is longer than its time signature")


def faulty(_report: Report) -> None:
    raise ZeroDivisionError("inside")


def crash(_report: Report) -> None:
    os._exit(3)


def process(_report: Report, seconds: float = 0.0) -> int:
    time.sleep(seconds)
    return os.getpid()


def with_a_child(_report: Report, path: str) -> None:
    import subprocess

    child = subprocess.Popen(["sleep", "600"])
    with open(path, "w") as stream:
        stream.write(str(child.pid))
    time.sleep(600)


def talks(_report: Report) -> str:
    print("a library prints", flush=True)
    return "said"
