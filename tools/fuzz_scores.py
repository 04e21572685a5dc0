"""Reads many damaged scores and reports any that break a promise.

    python tools/fuzz_scores.py [COUNT] [SEED]

Every score is refused in one line or read; what is read keeps all promises of `tests/score/promises.py`.
A score that breaks one is written to the folder for temporary files, to be looked at.
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
import traceback
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from tests.conftest import DEMO, real_scores  # noqa: E402
from tests.score.mutate import mutate  # noqa: E402
from tests.score.promises import read_or_refuse  # noqa: E402
from tests.score.small import SMALL_SCORES  # noqa: E402

SLOW = 10.0
"""Seconds from which a reading is reported as slow."""


def main(count: int, seed: int) -> int:
    """Read `count` damaged scores; the number that broke a promise."""
    random_ = random.Random(seed)
    sources = [score.encode() for score in SMALL_SCORES.values()]
    sources += [path.read_bytes() for path in sorted(DEMO.glob("*.musicxml"))]
    large = [path.read_bytes() for path in real_scores()]
    read = broken = 0
    for number in range(count):
        source = random_.choice(large if large and random_.random() < 0.01 else sources)
        data = mutate(source, random_)
        started = time.monotonic()
        try:
            read += read_or_refuse(data) is not None
        except Exception:
            broken += 1
            path = Path(tempfile.gettempdir()) / f"broken-{seed}-{number}.musicxml"
            path.write_bytes(data)
            print(f"{path}\n{traceback.format_exc(limit=-4)}", file=sys.stderr)
        if time.monotonic() - started > SLOW:
            print(f"score {number} of seed {seed} took long", file=sys.stderr)
    print(f"{count} damaged scores: {read} read, {count - read - broken} refused, {broken} broken")
    return broken


if __name__ == "__main__":
    arguments = [int(text) for text in sys.argv[1:]]
    raise SystemExit(bool(main(*(arguments + [2000, 1][len(arguments) :]))))
