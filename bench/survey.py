"""What a survey costs: processor time of a score by stage, speed and memory on the cores there are, and the finished table.

    python -m bench.survey               all of it, with the folder of real scores as the load
    python -m bench.survey table         the table of 100,000 rows alone (needs no scores)

The load is the real scores, copied with a comment of their own so that no two files are equal.
"""

from __future__ import annotations

import gc
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from bench.harmony import data_folder
from passagework.demands.measure import measure_demands
from passagework.demands.profile import PROFILE_VERSION
from passagework.score import read_score
from passagework.spots.context import Context
from passagework.survey.columns import FORMAT, columns
from passagework.survey.local import cores
from passagework.survey.row import main_key, measured_row
from passagework.survey.table import (
    ROWS_AT_ONCE,
    merged,
    open_earlier,
    table_of,
    table_schema,
    write_table,
)

COPIES = 2
ROWS = 100_000
TIMES = 3


def load(folder: Path, scores: Sequence[Path]) -> int:
    """Copies of the scores, no two equal; gives how many."""
    for copy in range(COPIES):
        for path in scores:
            data = path.read_bytes() + f"<!-- copy {copy} -->\n".encode()
            (folder / f"{path.stem}-{copy}.musicxml").write_bytes(data)
    return COPIES * len(scores)


def by_stage(scores: Sequence[Path]) -> None:
    """Processor time of each stage, as a reader does it: without looking for cycles in between."""
    gc.collect()
    gc.disable()
    spent = dict.fromkeys(("reading", "profile", "key", "all of a row"), 0.0)

    def timed(name: str, work: Callable[[], object]) -> object:
        start = time.process_time()
        value = work()
        spent[name] += time.process_time() - start
        return value

    notes = size = 0
    for path in scores:
        data = path.read_bytes()
        reading = timed("reading", lambda d=data, n=path.name: read_score(d, n))  # type: ignore[misc]
        piece = reading.piece  # type: ignore[attr-defined]
        timed("profile", lambda p=piece: measure_demands(Context(p), dear=False))  # type: ignore[misc]
        timed("key", lambda p=piece: main_key(p))  # type: ignore[misc]
        timed("all of a row", lambda d=data, n=path.name: measured_row(d, n, 20.1))  # type: ignore[misc]
        notes, size = notes + len(piece.notes), size + len(data)
        gc.collect()
    gc.enable()
    count = len(scores)
    print(
        f"## A score of {notes / count:.0f} notes and {size / count / 1000:.0f} kB, processor time"
    )
    for name, seconds in spent.items():
        print(f"{name:14} {seconds / count:.3f} s")


def speed(folder: Path, count: int) -> None:
    """Whole runs with one reader and with one on each core."""
    print(f"\n## {count} scores, whole runs; load of the machine before: {os.getloadavg()[0]:.1f}")
    print(f"{'readers':>7} {'wall s':>8} {'cpu s':>8} {'cpu s/score':>12} {'scores/s':>9} {'cpu allows':>11} {'peak MB':>8}")  # fmt: skip
    for workers in sorted({1, cores()}):
        out = folder.parent / f"{workers}.parquet"
        command = [sys.executable, "-m", "passagework", "survey", str(folder), "--out", str(out)]
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        start = time.perf_counter()
        with subprocess.Popen([*command, "--workers", str(workers)]) as run:
            peak = _peak(run)
        wall = time.perf_counter() - start
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        print(
            f"{workers:7} {wall:8.1f} {cpu:8.1f} {cpu / count:12.3f} {count / wall:9.2f} "
            f"{workers * count / cpu:11.2f} {peak:8.0f}"
        )


def _peak(run: subprocess.Popen[bytes]) -> float:
    """Largest sum of the resident sizes of a run and its readers, in MB, until it ends."""
    largest = 0.0
    ended = threading.Event()
    while not ended.wait(0.2) and run.poll() is None:
        largest = max(largest, sum(map(_resident, _family(run.pid))))
    return largest


def _family(pid: int) -> Iterator[int]:
    yield pid
    for listed in Path(f"/proc/{pid}/task").glob("*/children"):
        try:
            children = listed.read_text().split()
        except OSError:
            continue
        for child in children:
            yield from _family(int(child))


def _resident(pid: int) -> float:
    try:
        lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    except OSError:
        return 0.0
    return sum(int(line.split()[1]) / 1000 for line in lines if line.startswith("VmRSS"))


def finished_table(folder: Path) -> None:
    """A table of invented rows: how large, how fast to write, to merge with, to filter and to sort."""
    import pyarrow as pa
    import pyarrow.compute as pc
    import pyarrow.parquet as pq

    kind = table_schema({"format": FORMAT, "address": "bench", "profile_version": PROFILE_VERSION})
    path, draft = folder / "rows.parquet", folder / "rows.draft"
    print(f"\n## A table of {ROWS:,} rows and {len(columns())} columns (invented values)")

    def took(name: str, work: Callable[[], object]) -> None:
        best = float("inf")
        for _ in range(TIMES):
            start = time.perf_counter()
            work()
            best = min(best, time.perf_counter() - start)
        print(f"{name:58} {best * 1000:9.1f} ms")

    start = time.perf_counter()
    write_table(path, draft, kind, invented(kind, 0, ROWS, 1))
    print(f"{'made and written':58} {(time.perf_counter() - start) * 1000:9.1f} ms")
    print(f"{'bytes in a row of the file':58} {path.stat().st_size / ROWS:9.0f}")
    earlier = open_earlier(path)
    assert earlier is not None
    took("merged with 1,000 new rows and written again", lambda: write_table(
        folder / "again.parquet", draft, kind, merged(earlier.tables(), invented(kind, 50, 1_050, ROWS // 1_000))))  # fmt: skip
    shown = ["path", "title", "composer", "key", "metre", "bars", "notes", "seconds", "score"]
    asked = [("score", ">=", 30.0), ("score", "<", 35.0), ("key", "=", "E flat major")]
    took("the columns that a list shows, read", lambda: pq.read_table(path, columns=shown))
    took(
        "filtered by score and key while it is read",
        lambda: pq.read_table(path, columns=shown, filters=asked),
    )
    took("the whole table read", lambda: pq.read_table(path))
    held: pa.Table = pq.read_table(path)
    leaps = "kind_leap_hardest"

    def filtered() -> pa.Table:
        within = pc.and_(pc.greater_equal(held["score"], 30.0), pc.less(held["score"], 35.0))
        return held.filter(pc.and_(within, pc.equal(held["key"], "E flat major")))

    took("held in memory: filtered by score and key, all columns", filtered)
    took(
        "held in memory: sorted by one column, first 50",
        lambda: held.take(pc.select_k_unstable(held, 50, [(leaps, "descending")])),
    )
    took("held in memory: order of all rows by three columns", lambda: pc.sort_indices(
        held, [("composer", "ascending"), ("score", "ascending"), ("title", "ascending")]))  # fmt: skip
    print(f"{'held in memory':58} {held.nbytes / 1e6:9.0f} MB")


def invented(kind: object, first: int, last: int, step: int) -> Iterator[object]:
    """Rows with paths in order, and values as far apart as real ones."""
    chance = random.Random(first)
    keys = ("C major", "E flat major", "A minor", "F sharp minor", "G major", "D minor")
    for start in range(first, last, ROWS_AT_ONCE):
        rows = []
        for number in range(start, min(start + ROWS_AT_ONCE, last)):
            at = number * step
            row = {
                "path": f"{at // 500:04}/score-{at:06}{'' if step == 1 else 'n'}.musicxml",
                "hash": f"{chance.getrandbits(256):064x}", "title": f"Piece {chance.randrange(10**6)}",
                "composer": f"Composer {chance.randrange(2_000)}", "key": chance.choice(keys),
                "metre": chance.choice(("4/4", "3/4", "6/8")), "warnings": ["bar 3: repaired"] * (at % 4 == 0),
                "program_version": "0", "profile_version": PROFILE_VERSION, "reach_cm": 20.1,
            }  # fmt: skip
            for column in columns():
                if column.name not in row and column.sort in {"number", "whole", "time"}:
                    absent = column.name.startswith("kind_") and chance.random() < 0.5
                    value = 0.0 if absent else round(chance.random() * 100, 4)
                    row[column.name] = value if column.sort == "number" else int(value * 100)
            rows.append([row.get(column.name) for column in columns()])
        yield table_of(rows, kind)


def main() -> None:
    """Run what the arguments ask for."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        if sys.argv[1:] != ["table"]:
            data = data_folder()
            scores = sorted((data / "scores").glob("*.musicxml")) if data else []
            if scores:
                measured_row(scores[0].read_bytes(), scores[0].name, 20.1)
                by_stage(scores)
                (folder / "load").mkdir()
                speed(folder / "load", load(folder / "load", scores))
                shutil.rmtree(folder / "load")
            else:
                print("the real scores are not here: no speed")
        finished_table(folder)


if __name__ == "__main__":
    main()
