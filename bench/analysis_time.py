"""How long each part of the analysis takes, how that grows with the notes, and against what limit.

The time is processor time, the smallest of `RUNS` runs, of a piece already read. Growth is measured on
one piece copied end to end: 1, 2 and 4 times; linear work takes 1, 2 and 4 times as long.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from bench.harmony import data_folder
from passagework.analysis.form import find_form
from passagework.analysis.harmony import analyse_harmony
from passagework.analysis.melody import find_tune
from passagework.analysis.texture import find_texture
from passagework.score import Bar, Note, Piece, read_score

RUNS = 5
NOTES = 2500
LIMIT = 0.5
"""Seconds that all analysis of `NOTES` notes may take."""

DEMO = Path(__file__).resolve().parents[1] / "src" / "passagework" / "demo"
SHOWN = (
    "mozart-sonata-12-2", "bach-fugue-848", "chopin-etude-25-1", "schubert-impromptu-90-3",
    "schumann-arabeske-18", "schumann-kreisleriana-2", "chopin-scherzo-39-fingered",
)  # fmt: skip


def least_time(work: Callable[[], object]) -> float:
    """Processor seconds of the quickest of `RUNS` runs."""
    best = float("inf")
    for _ in range(RUNS):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def end_to_end(piece: Piece, times: int) -> Piece:
    """`piece` followed by itself, with ids and bars of their own; notes and bars only."""
    bars: list[Bar] = []
    notes: list[Note] = []
    for turn in range(times):
        shift, first = piece.end * turn, len(piece.bars) * turn
        bars += [
            replace(bar, index=bar.index + first, onset=bar.onset + shift) for bar in piece.bars
        ]
        notes += [
            replace(
                note,
                id=f"{note.id}-{turn}",
                bar=note.bar + first,
                onset=note.onset + shift,
                tied_ids=(),
            )
            for note in piece.notes
        ]
    return Piece(piece.title, piece.composer, tuple(bars), tuple(notes))


def parts(piece: Piece) -> dict[str, float]:
    """Seconds of each part of the analysis of `piece`."""
    tune, textures = find_tune(piece), find_texture(piece)
    return {
        "tune": least_time(lambda: find_tune(piece)),
        "texture": least_time(lambda: find_texture(piece)),
        "form": least_time(lambda: find_form(piece, tune, textures)),
        "harmony": least_time(lambda: analyse_harmony(piece)),
    }


def main() -> None:
    """Print the times."""
    folder = data_folder() / "scores"
    paths = [folder / f"{name}.musicxml" for name in SHOWN]
    paths = [path for path in paths if path.exists()] or sorted(DEMO.glob("*.musicxml"))
    print(
        f"{'piece':28} {'notes':>6} {'tune':>7} {'texture':>7} {'form':>7} {'harmony':>7} {'for ' + str(NOTES):>9}"
    )
    pieces = [(path.stem, read_score(path.read_bytes(), path.name).piece) for path in paths]
    for name, piece in pieces:
        seconds = parts(piece)
        whole = sum(seconds.values()) * NOTES / len(piece.notes)
        row = " ".join(f"{value:7.3f}" for value in seconds.values())
        print(f"{name:28} {len(piece.notes):6} {row} {whole:7.3f} s (limit {LIMIT} s)")
    name, piece = pieces[0]
    print(f"\ngrowth: {name} end to end")
    base: dict[str, float] = {}
    for times in (1, 2, 4):
        longer = end_to_end(piece, times)
        seconds = parts(longer)
        base = base or seconds
        row = ", ".join(f"{part} {value / base[part]:.1f}" for part, value in seconds.items())
        print(f"  {times} x: {len(longer.notes):6} notes, times as long: {row}")


if __name__ == "__main__":
    main()
