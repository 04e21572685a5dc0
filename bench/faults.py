"""Findings against simulated faults, and against performances in which nothing was spoiled.

found       a finding of the right kind that touches the fault's bars (and, for faults in notes, its notes)
false       findings on takes without a fault, for each 50 bars: simulated ones, and concert performances, where a wrong, missing
            or added note counts as false only if the performance's ``.match`` file does not have it

``python -m bench.faults --truth`` takes the true alignment instead of the computed one; ``--only "old key"`` one fault;
``--takes N`` so many takes of each fault (default 10); ``--show`` prints what was missed.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from bench.harmony import data_folder
from passagework.listening.align import align
from passagework.listening.finding import Finding
from passagework.listening.findings.find import find_findings
from passagework.listening.heard import Heard
from passagework.listening.simulate import Simulated, play
from passagework.score import Piece, read_score
from passagework.spots.context import Context
from tests.listening.faults import MAKERS, Span, spoiled
from tests.listening.truth import Concert, concert, concert_takes

BARS = 28
"""Length of an excerpt."""
SLIPS = frozenset({"wrong-notes", "missing-notes", "extra-notes", "old-key", "lapsed-accidental",
                   "forgotten-signature", "misreading", "dropped-note"})  # fmt: skip
NEAR = {"stops": 1, "tempo": 1, "rushing": 1, "pedal": 1}
"""Bars by which a finding of a kind may miss its place: a stop is named by where it is taken up, a change of tempo has no edge."""
ALSO: dict[str, frozenset[str]] = {
    "rushing": frozenset({"tempo"}),
    "tempo": frozenset({"rushing"}),
}
"""Kinds that say the same in other words: bars that are slower than their neighbours are those whose neighbours are faster."""


@dataclass(frozen=True)
class Music:
    """A piece to play."""

    name: str
    context: Context


def music() -> list[Music]:
    """Every score at hand."""
    demo = Path(__file__).resolve().parents[1] / "src" / "passagework" / "demo"
    paths = [
        *sorted(demo.glob("*.musicxml")),
        *sorted((data_folder() / "scores").glob("*.musicxml")),
    ]
    return [Music(p.stem, Context(read_score(p.read_bytes(), p.name).piece)) for p in paths]


def span_of(context: Context, rng: np.random.Generator) -> Span:
    """A random excerpt."""
    last = len(context.piece.bars) - 1
    first = int(rng.integers(0, max(last - BARS + 1, 0) + 1))
    return first, min(first + BARS - 1, last)


def listen(context: Context, made: Simulated, truth: bool) -> tuple[tuple[Finding, ...], int]:
    """What is heard in a simulated take, and by how many bars it was laid elsewhere (on the same notes)."""
    alignment = made.truth.alignment if truth else align(context.piece, made.take)
    moved = 0
    if alignment.passes:
        at, own = alignment.passes[0].first_bar, made.truth.alignment.passes[0].first_bar
        rows = [sorted(n.midi for n in context.piece.notes_of_bar[bar]) for bar in (at, own)]
        moved = at - own if rows[0] == rows[1] else 0
    return find_findings(Heard(context, made.take, alignment)), moved


def touches(finding: Finding, made: Simulated, moved: int) -> bool:
    """Whether a finding stands where the fault is; `moved` bars away where the same music stands twice and the other place was taken."""
    fault = made.truth.faults[0]
    near = NEAR.get(finding.kind, 0)
    first, last = finding.first_bar - moved, finding.last_bar - moved
    if first > fault.last_bar + near or last < fault.first_bar - near:
        return False
    if moved:
        return True
    if (
        finding.kind in SLIPS
        and finding.note_ids
        and fault.kind in SLIPS
        and fault.kind != "extra-notes"
    ):
        return not set(finding.note_ids).isdisjoint(fault.note_ids)
    return True


@dataclass
class Row:
    """Results for one fault."""

    takes: int = 0
    found: int = 0
    rank: int = 0
    others: Counter[str] | None = None


def excerpts(
    pieces: list[Music], name: str, count: int, seed: int
) -> Iterator[tuple[Music, Simulated]]:
    """So many excerpts with one fault each, over all pieces in turn."""
    rng = np.random.default_rng(seed)
    made = tried = 0
    order = [pieces[k] for k in rng.permutation(len(pieces))]
    while made < count and tried < 12 * count:
        piece = order[tried % len(order)]
        tried += 1
        span = span_of(piece.context, rng)
        scale = float(rng.uniform(0.6, 1.0))
        take = spoiled(piece.context, name, span, int(rng.integers(1 << 30)), tempo_scale=scale)
        if take is not None:
            made += 1
            yield piece, take


def faults_table(
    pieces: list[Music], names: list[str], count: int, truth: bool, show: bool
) -> None:
    """Print the table of faults."""
    print(f"{'fault':20} {'takes':>5} {'found':>6} {'first':>6}  instead")
    total = Row()
    for name in names:
        row = Row(others=Counter())
        assert row.others is not None
        for piece, made in excerpts(pieces, name, count, 1000 + list(MAKERS).index(name)):
            fault = made.truth.faults[0]
            heard, moved = listen(piece.context, made, truth)
            here = [f for f in heard if touches(f, made, moved)]
            wanted = {fault.kind} | ALSO.get(fault.kind, frozenset())
            row.takes += 1
            hit = next((f for f in here if f.kind in wanted), None)
            if hit:
                row.found += 1
                row.rank += heard.index(hit) == 0
            else:
                row.others[here[0].kind if here else "nothing"] += 1
                if show:
                    print(f"    {piece.name}: {fault.fault} bars {fault.first_bar}-{fault.last_bar}: "
                          f"{[(f.kind, f.first_bar, f.last_bar) for f in heard[:4]]}")  # fmt: skip
        others = ", ".join(f"{kind} {n}" for kind, n in row.others.most_common())
        share = f"{row.found / row.takes:.0%}" if row.takes else "-"
        first = f"{row.rank / row.takes:.0%}" if row.takes else "-"
        print(f"{name:20} {row.takes:5} {share:>6} {first:>6}  {others}", flush=True)
        total.takes, total.found = total.takes + row.takes, total.found + row.found
        total.rank += row.rank
    if total.takes:
        print(
            f"{'all':20} {total.takes:5} {total.found / total.takes:6.1%} {total.rank / total.takes:6.1%}"
        )


def clean_table(pieces: list[Music], truth: bool, show: bool) -> None:
    """Print the false findings of takes that nothing was done to."""
    counts: Counter[str] = Counter()
    bars = 0
    rng = np.random.default_rng(5)
    for piece in pieces:
        span = span_of(piece.context, rng)
        made = play(
            piece.context,
            seed=int(rng.integers(1 << 30)),
            bars=span,
            tempo_scale=float(rng.uniform(0.6, 1.0)),
        )
        bars += span[1] - span[0] + 1
        for finding in listen(piece.context, made, truth)[0]:
            counts[finding.kind] += 1
            if show:
                print(f"    {piece.name}: {finding.kind} w{finding.weight:.2f} {finding.reason}")
    _rates("simulated, nothing spoiled", counts, bars)


def concert_table(pieces: list[Music], truth: bool, show: bool) -> None:
    """Print the false findings of concert performances."""
    counts: Counter[str] = Counter()
    real: Counter[str] = Counter()
    bars, data = 0, data_folder()
    used = 0.0
    for piece in pieces:
        for path in concert_takes(data, piece.name):
            known = concert(path, piece.context.piece)
            alignment = known.alignment if truth else align(piece.context.piece, known.take)
            start = time.process_time()
            heard = find_findings(Heard(piece.context, known.take, alignment))
            used += time.process_time() - start
            bars += sum(p.last_bar - p.first_bar + 1 for p in known.alignment.passes)
            for finding in heard:
                if finding.kind in SLIPS and _true_slip(finding, known, piece.context.piece):
                    real[finding.kind] += 1
                    continue
                counts[finding.kind] += 1
                if show:
                    print(
                        f"    {known.name}: {finding.kind} w{finding.weight:.2f} {finding.reason}"
                    )
    _rates("concert performances", counts, bars)
    print(
        f"{'':28} true slips: {', '.join(f'{k} {n}' for k, n in real.most_common())}; {used:.1f} s cpu"
    )


def _true_slip(finding: Finding, known: Concert, piece: Piece) -> bool:
    """Whether what a finding says is in the performance's own list: the same key missing in that bar, the same key added at that
    time (which of two strokes of a key is the added one is anybody's guess).
    """
    gone = {(piece.by_id[m.note].bar, piece.by_id[m.note].midi) for m in known.alignment.missing}
    added = [known.take.notes[k] for k in known.alignment.extra]
    named = [(piece.by_id[i].bar, piece.by_id[i].midi) in gone for i in finding.note_ids]
    for index in finding.played:
        stroke = known.take.notes[index]
        named.append(
            any(a.pitch == stroke.pitch and abs(a.onset - stroke.onset) < 1.0 for a in added)
        )
    return sum(named) >= 0.5 * len(named)


def _rates(title: str, counts: Counter[str], bars: int) -> None:
    total = sum(counts.values())
    rates = ", ".join(f"{kind} {50 * n / max(bars, 1):.2f}" for kind, n in counts.most_common())
    print(
        f"{title:28} {bars:5} bars, false findings for 50 bars: {50 * total / max(bars, 1):.2f}  ({rates})"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--truth", action="store_true")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--only", action="append", choices=list(MAKERS))
    parser.add_argument("--takes", type=int, default=10)
    options = parser.parse_args()
    pieces = music()
    start = time.process_time()
    if options.takes:
        faults_table(
            pieces, options.only or list(MAKERS), options.takes, options.truth, options.show
        )
    if not options.only:
        clean_table(pieces, options.truth, options.show)
        concert_table(pieces, options.truth, options.show)
    print(f"{time.process_time() - start:.0f} s cpu")


if __name__ == "__main__":
    main()
