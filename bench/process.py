"""Runs a command as its user would and measures it: wall time, processor time, peak memory."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True)
class Run:
    """One finished run."""

    wall: float
    """Seconds from start to end."""
    cpu: float
    """Seconds of processor time, children included."""
    peak_mb: float
    """Largest resident size of the process (not of its children), in MB."""


def run(arguments: list[str]) -> Run:
    """Run ``python -m passagework`` with `arguments`; raises `RuntimeError` where it fails."""
    command = [sys.executable, "-m", "passagework", *arguments]
    start = time.perf_counter()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
    _, status, usage = os.wait4(child.pid, 0)
    wall = time.perf_counter() - start
    error = child.stderr.read().decode() if child.stderr else ""
    if status:
        raise RuntimeError(f"{' '.join(command)} failed: {error.strip()}")
    return Run(wall, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024)


def median_run(arguments: list[str], times: int = 3) -> Run:
    """The median of several runs, figure by figure."""
    runs = [run(arguments) for _ in range(times)]
    return Run(
        median(r.wall for r in runs), median(r.cpu for r in runs), median(r.peak_mb for r in runs)
    )
