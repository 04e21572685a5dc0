"""The main job, cold: `guide`, `read` and `--help` as whole processes, and their growth with size."""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from statistics import median

from bench.process import median_run
from bench.sizes import score_of, score_of_bars
from passagework.score import read_score

SIZES = (650, 1_300, 2_500, 5_000, 7_000)


def main() -> None:
    """Print the tables."""
    with tempfile.TemporaryDirectory() as folder:
        _single(Path(folder))
        _growth(Path(folder))
    _peer()


def _single(folder: Path) -> None:
    score = folder / "bars-150.musicxml"
    score.write_bytes(score_of_bars(150))
    notes = folder / "notes-2500.musicxml"
    notes.write_bytes(score_of(2_500))
    print("## The main job, whole process, cold")
    print(f"{'command':34} {'wall s':>8} {'cpu s':>8} {'peak MB':>8}   bar")
    for name, arguments, bar in (
        ("--help", ["--help"], "0.3 s"),
        ("read, 2,500 notes", ["read", str(notes), "--json", str(folder / "r.json")], "1.5 s"),
        ("guide, 150 bars", ["guide", str(score), "--out", str(folder / "g")], "4 s"),
    ):
        r = median_run(arguments)
        print(f"{name:34} {r.wall:8.2f} {r.cpu:8.2f} {r.peak_mb:8.0f}   <= {bar}")


def _growth(folder: Path) -> None:
    print("\n## Growth with size (ms of wall time per note; level means linear)")
    print(f"{'notes':>7} {'read s':>8} {'ms/note':>8} {'guide s':>8} {'ms/note':>8} {'peak MB':>8}")
    for size in SIZES:
        score = folder / f"{size}.musicxml"
        score.write_bytes(score_of(size))
        read = median_run(["read", str(score), "--json", str(folder / "r.json")], 1)
        guide = median_run(["guide", str(score), "--out", str(folder / "g")], 1)
        print(
            f"{size:7} {read.wall:8.2f} {1000 * read.wall / size:8.3f} {guide.wall:8.2f} "
            f"{1000 * guide.wall / size:8.3f} {guide.peak_mb:8.0f}"
        )


def _peer() -> None:
    """Reading against partitura, a score library, in the same run (imports not counted)."""
    import warnings

    import partitura

    data = score_of(2_500)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "score.musicxml"
        path.write_bytes(data)
        own: list[float] = []
        peer: list[float] = []
        for _ in range(3):
            start = time.perf_counter()
            read_score(data)
            own.append(time.perf_counter() - start)
            start = time.perf_counter()
            with warnings.catch_warnings():
                warnings.simplefilter("ignore")
                partitura.load_musicxml(str(path))
            peer.append(time.perf_counter() - start)
    print("\n## Reading 2,500 notes against partitura, in process")
    print(
        f"passagework {median(own):.2f} s, partitura {median(peer):.2f} s, "
        f"ratio {median(own) / median(peer):.2f}"
    )
