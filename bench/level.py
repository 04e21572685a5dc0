"""How well pieces are placed on a scale of levels, and what measuring them costs.

    python -m bench.level                 pieces in three classes of our own making, see below
    python -m bench.level LIST.csv        your own graded pieces (path,level): each placed by the others

No graded collection may be kept here, so the first is a stand-in and easier than a real one: the classes come from general knowledge
and from leaving parts out.

* easy: the outer voices of four-part chorales, and the two easier demo pieces
* middle: the same sort of chorale in four parts (other chorales), the third demo piece, accompaniments and dances
* hard: concert pieces, whole and in pages of `PAGE` bars, so that length does not give them away

Half of the pieces is graded, the other half placed, `TURNS` times; pages of one piece are never on both sides. Chorales and some
pieces come from the corpus of music21, the concert pieces from the folder of real scores; what is not there is left out and said.
"""

from __future__ import annotations

import gc
import random
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from bench.harmony import data_folder
from passagework.cli.graded_list import read_list
from passagework.demands.levels import GradedPiece, interval, learn_levels, sharpened
from passagework.demands.measure import measure_demands, measure_for_level
from passagework.demands.profile import Demands
from passagework.demands.scale import ungraded_score
from passagework.score import Piece, read_score
from passagework.score.errors import ScoreError
from passagework.spots.context import Context
from tests.demands.changed import excerpt

PAGE, TURNS, CHORALES = 24, 10, 48
DEMO = Path(__file__).resolve().parents[1] / "src" / "passagework" / "demo"
EASY, MIDDLE, HARD = "1", "2", "3"

DEMOS = {"paper-boat": EASY, "lamplighter": EASY, "evening-ferry": MIDDLE}
CORPUS = {
    "liliuokalani/aloha_oe.mxl": MIDDLE, "johnson_j_r/lift_every_voice.mxl": MIDDLE,
    "handel/rinaldo/Lascia_chio_pianga.mxl": MIDDLE, "verdi/laDonnaEMobile.mxl": MIDDLE,
    "mozart/k545/movement1_exposition.mxl": MIDDLE, "schumann_robert/dichterliebe_no2.xml": MIDDLE,
    "chopin/mazurka06-2.krn": HARD, "joplin/maple_leaf_rag.mxl": HARD, "schoenberg/opus19/movement2.mxl": HARD,
    "schumann_clara/polonaise_op1n1.mxl": HARD, "schumann_clara/polonaise_op1n2.mxl": HARD,
    "schumann_clara/polonaise_op1n3.mxl": HARD, "schumann_clara/polonaise_op1n4.mxl": HARD,
}  # fmt: skip


@dataclass(frozen=True)
class Sample:
    """A piece (or a page of one) with its class."""

    name: str
    work: str
    level: str
    demands: Demands


def corpus_folder() -> Path | None:
    """The corpus that music21 carries; None where it is not installed."""
    spec = find_spec("music21")
    return Path(spec.origin).parent / "corpus" if spec and spec.origin else None


def read(path: Path) -> Piece | None:
    """A piece, or None where it cannot be read."""
    try:
        return read_score(path.read_bytes(), path.name).piece
    except (OSError, ScoreError) as error:
        print(f"left out: {path.name}: {error}")
        return None


def outer_voices(piece: Piece) -> Piece:
    """The highest and the lowest staff alone."""
    staves = {min(n.staff for n in piece.notes), max(n.staff for n in piece.notes)}
    return replace(piece, notes=tuple(n for n in piece.notes if n.staff in staves))


def samples() -> list[Sample]:
    """Every piece of the three classes that is at hand."""
    rows: list[Sample] = []

    def add(name: str, level: str, piece: Piece | None, work: str = "") -> None:
        if piece is not None and len(piece.notes) > 10:
            rows.append(Sample(name, work or name, level, measure_for_level(Context(piece))))

    for name, level in DEMOS.items():
        add(name, level, read(DEMO / f"{name}.musicxml"))
    folder = corpus_folder()
    if folder is None:
        print("music21's corpus is not here: no chorales")
    else:
        for name, level in CORPUS.items():
            add(name, level, read(folder / name))
        chorales = sorted((folder / "bach").glob("bwv2[5-9]*.mxl"))[:CHORALES]
        for at, path in enumerate(chorales):
            piece = read(path)
            if piece is not None and piece.staves == 4:
                add(path.stem, MIDDLE if at % 2 else EASY, piece if at % 2 else outer_voices(piece))
    data = data_folder()
    if data is None:
        print("the real scores are not here: few hard pieces")
        return rows
    for path in sorted((data / "scores").glob("*.musicxml")):
        piece = read(path)
        if piece is None:
            continue
        add(path.stem, HARD, piece)
        middle = len(piece.bars) // 2
        for first in {0, middle}:
            last = min(first + PAGE, len(piece.bars)) - 1
            add(f"{path.stem}:{first}", HARD, excerpt(piece, first, last), path.stem)
    return rows


def rank_correlation(one: Sequence[float], other: Sequence[float]) -> float:
    """Spearman's, ties in the middle of their ranks."""
    return float(np.corrcoef(_ranks(one), _ranks(other))[0, 1])


def _ranks(values: Sequence[float]) -> list[float]:
    ordered = sorted(values)
    places: dict[float, list[int]] = {}
    for at, value in enumerate(ordered):
        places.setdefault(value, []).append(at)
    return [sum(places[v]) / len(places[v]) for v in values]


def halves(rows: Sequence[Sample], turn: int) -> tuple[list[Sample], list[Sample]]:
    """Graded and new pieces, no work on both sides."""
    works = sorted({r.work for r in rows})
    random.Random(turn).shuffle(works)
    graded = set(works[: len(works) // 2])
    return [r for r in rows if r.work in graded], [r for r in rows if r.work not in graded]


def three_classes() -> None:
    """Half graded, half placed."""
    rows = samples()
    counts = {level: sum(r.level == level for r in rows) for level in (EASY, MIDDLE, HARD)}
    print(f"{len(rows)} pieces: {counts[EASY]} easy, {counts[MIDDLE]} middle, {counts[HARD]} hard")
    ungraded = [ungraded_score(r.demands.descriptors) for r in rows]
    said = rank_correlation(ungraded, [float(r.level) for r in rows])
    print(f"nothing graded: rank correlation of score and class {said:.2f}")
    right, within, rho, inside = [], [], [], []
    for turn in range(TURNS):
        graded, new = halves(rows, turn)
        scale = learn_levels([GradedPiece(g.name, g.level, g.demands) for g in graded])
        placed = [scale.place(n.demands) for n in new]
        pairs = [(int(p.level or 0), int(n.level)) for p, n in zip(placed, new, strict=True)]
        right.append(np.mean([a == b for a, b in pairs]))
        within.append(np.mean([abs(a - b) <= 1 for a, b in pairs]))
        rho.append(rank_correlation([p.score for p in placed], [float(b) for _, b in pairs]))
        inside.append(
            np.mean([(p.low or "") <= n.level <= (p.high or "") for p, n in zip(placed, new, strict=True)])
        )  # fmt: skip
    print(
        f"half graded, {TURNS} turns: class right {np.mean(right):.0%} (worst turn {min(right):.0%}), "
        f"within one {np.mean(within):.0%}, rank correlation {np.mean(rho):.2f}, inside the interval {np.mean(inside):.0%}"
    )


def own_list(path: Path) -> None:
    """A teacher's own pieces, each placed by the others."""
    pieces: list[GradedPiece] = []
    for row in read_list(path):
        piece = read(row.path)
        if piece is not None:
            pieces.append(GradedPiece(row.named, row.level, measure_for_level(Context(piece))))
    scale = learn_levels(pieces)
    if scale.left_out is None:
        print(f"{len(pieces)} pieces: too few for levels")
        return
    truth = np.array([scale.order.index(p.level) for p in pieces])
    chances = sharpened(scale.left_out, scale.sharpness)
    said = chances.argmax(axis=1)
    bounds = [interval(row) for row in chances]
    inside = np.mean([low <= t <= high for (low, high), t in zip(bounds, truth, strict=True)])
    expected = (chances @ np.arange(len(scale.order.levels))).tolist()
    print(
        f"{len(pieces)} pieces, levels {', '.join(scale.order.levels)}: level right {np.mean(said == truth):.0%}, "
        f"within one {np.mean(abs(said - truth) <= 1):.0%}, inside the interval {inside:.0%}, "
        f"rank correlation {rank_correlation(expected, truth.tolist()):.2f}"
    )


def cost() -> None:
    """Processor time for the real scores, under the program's own setting for looking for cycles."""
    gc.set_threshold(100_000, 20, 20)
    data = data_folder()
    if data is None:
        return
    pieces = [p for path in sorted((data / "scores").glob("*.musicxml")) if (p := read(path))]
    notes = sum(len(p.notes) for p in pieces) / len(pieces)
    ways: dict[str, Callable[[Context], object]] = {
        "for a level": measure_for_level,
        "profile without the dear kinds": lambda c: measure_demands(c, dear=False),
        "whole profile": measure_demands,
    }
    for name, measure in ways.items():
        start = time.process_time()
        for piece in pieces:
            measure(Context(piece))
        spent = (time.process_time() - start) / len(pieces)
        print(f"{name}: {spent:.3f} s a score of {notes:.0f} notes, reading apart")


def main() -> None:
    """Run what the arguments ask for."""
    if len(sys.argv) > 1:
        own_list(Path(sys.argv[1]))
        return
    three_classes()
    cost()


if __name__ == "__main__":
    main()
