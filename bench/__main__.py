"""``make bench``: every benchmark, or those named: ``python -m bench main_job harmony``."""

from __future__ import annotations

import importlib
import sys
from pathlib import Path

ORDER = (
    "main_job",
    "harmony",
    "melody",
    "analysis_time",
    "fingering",
    "sound",
    "faults",
    "alignment",
    "level",
    "survey",
    "recordings",
)


def main() -> None:
    """Run the benchmarks named on the command line, or all that are there."""
    here = Path(__file__).parent
    names = sys.argv[1:] or [name for name in ORDER if (here / f"{name}.py").exists()]
    for name in names:
        print(f"\n# {name}")
        sys.argv[1:] = []  # the names are ours; a benchmark has options of its own when run alone
        importlib.import_module(f"bench.{name}").main()


if __name__ == "__main__":
    main()
