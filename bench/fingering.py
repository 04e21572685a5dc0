"""How well fingerings agree with manuals and with an edition, and how the weights are estimated.

    python -m bench.fingering                  figures for the weights as they stand, and times
    python -m bench.fingering --fit            cross-validation: fit on some bars, report on the others

Fitting is an averaged structured perceptron (Collins, 2002) with a margin: where the search prefers
another fingering to the printed one, each weight moves by the difference of its term. Half of it sees
the standard fingerings, half the edition's numbers in the bars of the training folds. The edition is
a score with printed fingers among the real data; without it only the manual is used.
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from passagework.analysis.tempo import tempo_map
from passagework.hands.figures import draw_together
from passagework.hands.fingering import finger_piece
from passagework.hands.hand import Hand
from passagework.hands.layers import SIZE_POWER, Costs
from passagework.hands.loudness import marked_loudness
from passagework.hands.runs import settle_runs
from passagework.hands.search import Lattice, best_path, connect, path_terms
from passagework.hands.slices import hand_slices
from passagework.hands.solve import Demand, Solved, prepare
from passagework.hands.spans import reaches
from passagework.hands.terms import STRETCHES, Term
from passagework.hands.weights import weight_vector
from passagework.score import Piece, Side, read_score
from tests.conftest import data_folder, real_scores
from tests.hands.make import line
from tests.hands.manual import broken_chords, others, scales

EDITION = "chopin-scherzo-39-fingered.musicxml"
FINGERED_BARS = 300
BLOCK_BARS = 30
FOLDS = 5
EPOCHS = 4
RATE = 0.03
MARGIN = 0.5
WRONG = 1e6

HAND = Hand()

JUDGED = {
    Term.STRETCH: 0.5, Term.CRAMPED: 0.6, Term.SHIFT: 0.15, Term.JUMP: 2.0, Term.PASS: 3.0,
    Term.PASS_ONTO_BLACK: 3.0, Term.PASS_FROM_BLACK: -0.6, Term.PASS_WIDE: 0.3,
    Term.PASS_BY_FOUR: 0.25, Term.PASS_BY_TWO: 0.5, Term.PASS_BY_FIVE: 3.0, Term.CROSS: 4.0,
    Term.HOP: 2.5, Term.CHANGE: 1.5, Term.REPEAT: 1.5, Term.THUMB_BLACK: 1.2, Term.FIVE_BLACK: 0.5,
    Term.THREE_FOUR: 0.3, Term.FOUR_FIVE: 0.4, Term.FOUR_BLACK: 0.1, Term.SKIP_STRETCH: 0.4,
    Term.SKIP_HOP: 0.8, Term.SKIP_CHANGE: 1.0, Term.SKIP_THUMB: 0.6, Term.CHORD_STRETCH: 0.5,
    Term.CHORD_CRAMPED: 0.6, Term.CHORD_WEAK: 0.3, Term.THUMB_ON_BLACK: 0.3,
    Term.FIVE_ON_BLACK: 0.1, Term.WEAK: 0.15, Term.SUBSTITUTION: 3.0, Term.SHIFT_FAR: 0.02,
    Term.BLOCK_CHANGE: 0.8, Term.BLOCK_CROSS: 0.5, Term.BLOCK_HOP: 0.3, Term.ORNAMENT: 1.0,
    Term.SPARED: 3.0, Term.STRETCH_TWO_THREE: 0.4, Term.STRETCH_THREE_FOUR: 0.5,
    Term.STRETCH_FOUR_FIVE: 0.4, Term.STRETCH_OUTER: 0.4, Term.PASS_WIDE_BY_FOUR: 0.3,
    Term.CHORD_STRETCH_INNER: 0.5, Term.NARROW: 0.2, Term.CRAMPED_INNER: 0.3,
    Term.SKIP_NARROW: 1.5, Term.THUMB_BLACK_STEP: 1.0, Term.FIVE_BLACK_STEP: 0.3,
}  # fmt: skip
"""Weights as they were judged from the published rules before any was fitted: where a fit begins."""
COSTS: dict[Side, Costs] = {"left": Costs(HAND), "right": Costs(HAND)}
FREE = Demand({}, printed=False)
Row = list[NDArray[np.float64]]


@dataclass
class Example:
    """One passage of one hand, and what is printed on it: a cost of `WRONG` on every other shape."""

    group: str
    side: Side
    solved: Solved
    rows: list[Row]
    """One row of masks for each printed choice."""
    printed: int
    """Notes that have a printed finger."""
    extra: Row = field(default_factory=list)
    block: int = 0

    def lattice(self) -> Lattice:
        """The lattice under the present weights, figures and runs drawn together."""
        costs = COSTS[self.side]
        lattice = connect(self.solved.lattice.layers, self.solved.slices, costs)
        lattice.own = [a + b for a, b in zip(lattice.own, self.extra, strict=True)]
        settle_runs(lattice, self.solved.slices, costs)
        draw_together(lattice, self.solved.slices)
        return lattice

    def agreement(self) -> tuple[int, int]:
        """(notes that agree with the best printed choice, notes printed)."""
        path, _ = best_path(self.lattice())
        wrong = min(
            sum(round(mask[p] / WRONG) for mask, p in zip(row, path, strict=True))
            for row in self.rows
        )
        return self.printed - wrong, self.printed


def example(piece: Piece, side: Side, group: str, rows: Sequence[Sequence[int]] = ()) -> Example:
    """`rows` are whole printed fingerings of a single line; without them the notes' own are taken."""
    slices = hand_slices(
        piece, side, tempo_map(piece), marked_loudness(piece), lambda keys: reaches(keys, HAND)
    )
    solved = prepare(slices, side, HAND, FREE, COSTS[side])
    layers = solved.lattice.layers
    if rows:
        masks = [
            [WRONG * (layer.arrive[:, 0] != f - 1) for layer, f in zip(layers, row, strict=True)]
            for row in rows
        ]
    else:
        masks = [_printed(solved)]
    struck = [
        n for s in slices for row, s_ in zip(s.notes, s.struck, strict=True) if s_ for n in row
    ]
    printed = len(slices) if rows else sum(bool(n.fingers) for n in struck)
    bare = connect(layers, slices, COSTS[side])
    extra = [own - plain for own, plain in zip(solved.lattice.own, bare.own, strict=True)]
    return Example(group, side, solved, masks, printed, extra)


def _printed(solved: Solved) -> Row:
    row = []
    for slice_, layer in zip(solved.slices, solved.lattice.layers, strict=True):
        mask = np.zeros(len(layer.arrive))
        for place, (notes, struck) in enumerate(zip(slice_.notes, slice_.struck, strict=True)):
            for note in notes if struck else ():
                if note.fingers:
                    mask += WRONG * (layer.arrive[:, place] != note.fingers[0] - 1)
        row.append(mask)
    return row


def manual_examples() -> list[Example]:
    """Two octaves up and down of everything in the manual, and the broken chords."""
    made = [
        example(
            line(e.keys(), e.side), e.side, "scales" if e in scales() else "others", e.printed()
        )
        for e in (*scales(), *others())
    ]
    value = Fraction(1, 4)
    made += [
        example(line(b.keys, b.side, value=value), b.side, "others", [b.printed])
        for b in broken_chords()
    ]
    return made


def edition_examples(folder: Path) -> list[Example]:
    """The edition in blocks of bars, so that whole blocks can be left out."""
    piece = read_score((folder / "scores" / EDITION).read_bytes(), EDITION).piece
    made = []
    for start in range(0, FINGERED_BARS, BLOCK_BARS):
        notes = tuple(n for n in piece.notes if start <= n.bar < start + BLOCK_BARS)
        sides: tuple[Side, Side] = ("left", "right")
        for side in sides:
            if any(n.fingers and n.hand == side for n in notes):
                made.append(example(replace(piece, notes=notes), side, "edition"))
                made[-1].block = start // BLOCK_BARS
    return made


def shares(examples: Sequence[Example]) -> dict[str, float]:
    """Share of printed notes that agree, by group."""
    counts: dict[str, list[int]] = {}
    for one in examples:
        agreed, printed = one.agreement()
        row = counts.setdefault(one.group, [0, 0])
        row[0] += agreed
        row[1] += printed
    return {group: a / n for group, (a, n) in counts.items()}


def fit(examples: Sequence[Example], start: NDArray[np.float64], seed: int) -> NDArray[np.float64]:
    """Weights estimated from `examples`, the average of all that were passed through."""
    rng = random.Random(seed)
    weights, total, steps = start.copy(), np.zeros_like(start), 0
    size = np.ones(len(start))
    size[list(STRETCHES)] = (1.0 / HAND.scale) ** SIZE_POWER
    for epoch in range(EPOCHS):
        for one in rng.sample(list(examples), len(examples)):
            _weigh(weights)
            difference = _difference(one)
            if difference is not None:
                scale = max(1.0, float(np.abs(difference).sum()) / 6.0)
                weights = weights - RATE / (1 + epoch) * size * difference / scale
                least = np.where(start < 0, 4.0 * start, 0.1 * start)
                weights = np.clip(weights, least, np.where(start < 0, 0.0, 8.0))
            total += weights
            steps += 1
    return total / steps


def _difference(one: Example) -> NDArray[np.float64] | None:
    """Terms of the printed fingering less those of the one preferred to it, None if none is."""
    lattice = one.lattice()
    own = lattice.own

    def solve(extra: Row, factor: float) -> tuple[list[int], float]:
        lattice.own = [a + factor * b for a, b in zip(own, extra, strict=True)]
        return best_path(lattice)

    row = min(one.rows, key=lambda masks: solve(masks, 1.0)[1])
    gold, _ = solve(row, 1.0)
    preferred, _ = solve(row, -MARGIN / WRONG)
    if preferred == gold:
        return None
    costs, slices = COSTS[one.side], one.solved.slices
    good = path_terms(lattice, slices, costs, gold)
    return np.asarray(good - path_terms(lattice, slices, costs, preferred))


def _weigh(weights: NDArray[np.float64]) -> None:
    for costs in COSTS.values():
        costs.weigh(weights)


def cross_validate(manual: Sequence[Example], edition: Sequence[Example]) -> None:
    """Leave each fold of blocks out once and fit on the rest; print what the left out ones give."""
    judged = weight_vector(JUDGED)
    _weigh(judged)
    before = [e.agreement() for e in edition]
    share = sum(a for a, _ in before) / sum(n for _, n in before)
    print(f"edition, before any fit: {share:.3f}")
    agreed = printed = 0.0
    for fold in range(FOLDS):
        seen = [e for e in edition if e.block % FOLDS != fold]
        unseen = [e for e in edition if e.block % FOLDS == fold]
        _weigh(fit([*manual, *seen, *seen], judged, fold))
        counts = [e.agreement() for e in unseen]
        agreed += sum(a for a, _ in counts)
        printed += sum(n for _, n in counts)
        print(
            f"fold {fold}: {sum(a for a, _ in counts)} of {sum(n for _, n in counts)}", flush=True
        )
    print(
        f"edition, bars left out of the fit: {agreed / printed:.3f} of {printed:.0f} printed notes"
    )
    _weigh(weight_vector())


def times() -> None:
    """Seconds of one processor for 2,500 notes, both hands, on the real scores at hand."""
    for path in real_scores():
        piece = read_score(path.read_bytes(), path.name).piece
        start = time.process_time()
        finger_piece(piece)
        took = time.process_time() - start
        print(f"{path.stem:32s} {len(piece.notes):6d} notes {took:6.2f} s, "
              f"{2500 * took / len(piece.notes):.2f} s for 2,500")  # fmt: skip


def main() -> None:
    """Print the figures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--fit", action="store_true", help="cross-validate the estimate of the weights"
    )
    wanted = parser.parse_args()
    folder = data_folder()
    edition = edition_examples(folder) if folder else []
    manual = manual_examples()
    for group, share in shares([*manual, *edition]).items():
        print(f"{group}: {share:.3f}")
    if wanted.fit and edition:
        cross_validate(manual, edition)
    times()


if __name__ == "__main__":
    main()
