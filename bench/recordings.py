"""What is heard through sound: simulated takes, rendered by the synthesiser and transcribed again.

slips        wrong and missing notes that were played into the take, found by their written note: precision, recall, F1
proportions  for every triplet figure heard in both, how far its shares lie from the take's own, in percentage points
balance      the tune above its accompaniment, mean over the take, heard less played, in velocity steps
time         seconds of listening for a minute of sound

A synthesiser in a quiet room is the easy case; a phone in a living room is harder, and nothing here measures it.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from pathlib import Path
from statistics import fmean

import numpy as np

from bench.harmony import data_folder
from passagework.listening.alignment import Alignment
from passagework.listening.figures import find_figures, written_shares
from passagework.listening.findings.balance import above, accompanied_bars
from passagework.listening.heard import Heard
from passagework.listening.listen import listen
from passagework.listening.read_take import read_take
from passagework.listening.simulate import Simulated, play
from passagework.listening.simulate.faults import Fault, MissingNote, Proportion, Shape, WrongNote
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.listening.take import Take
from passagework.score import Piece, read_score
from passagework.sound.soundfont import installed_soundfont
from passagework.spots.context import Context

EXCERPTS: tuple[tuple[str, int, int, Shape | None], ...] = (
    ("lamplighter", 0, 11, None),
    ("evening-ferry", 8, 20, None),
    ("mozart-sonata-12-2", 8, 12, None),
    ("schubert-moment-3", 0, 15, None),
    ("schubert-impromptu-90-3", 0, 5, "triplet"),
    ("chopin-etude-25-1", 1, 6, None),
)
"""Name, first and last bar, and the figure that one hand bends."""
SLIPS = 3
"""Wrong notes, and as many missing, in an excerpt."""


def main() -> None:
    """Print one line for each excerpt, and the sums."""
    import midirenderer

    hits = said = there = 0
    shares: list[float] = []
    balances: list[float] = []
    for seed, (name, first, last, shape) in enumerate(EXCERPTS):
        context = Context(_score(name))
        sim = _played(context, first, last, shape, seed)
        sound = midirenderer.render_wave_from(installed_soundfont(), to_midi_bytes(sim.take))
        begin = time.perf_counter()
        take = read_take(sound)
        spent = (time.perf_counter() - begin) / sim.take.length * 60
        heard = listen(context, take)
        truth = {(f.kind, i) for f in sim.truth.faults for i in f.note_ids if f.kind in KINDS}
        found = {(f.kind, i) for f in heard.findings for i in f.note_ids if f.kind in KINDS}
        hits, said, there = hits + len(truth & found), said + len(found), there + len(truth)
        off = _shares(context, sim.take, sim.truth.alignment, heard.heard)
        shares += off
        balance = _balance(heard.heard) - _balance(Heard(context, sim.take, sim.truth.alignment))
        if not np.isnan(balance):
            balances.append(balance)
        print(
            f"{name:28} {sim.take.length:5.0f} s  slips {len(truth & found)}/{len(truth)} found, {len(found - truth)} false"
            f"   shares off by {np.median(np.abs(off)) if off else float('nan'):4.1f} points"
            f"   balance {balance:+5.1f} steps   {spent:4.0f} s a minute", flush=True,
        )  # fmt: skip
    precision, recall = hits / max(said, 1), hits / max(there, 1)
    print(
        f"slips: precision {precision:.3f}, recall {recall:.3f}, F1 {2 * precision * recall / max(precision + recall, 1e-9):.3f}"
    )
    if shares:
        print(
            f"triplets: {np.mean(np.abs(shares) <= 3):.0%} of shares within 3 points, median {np.median(np.abs(shares)):.1f}"
        )
    print("balance: off by " + ", ".join(f"{b:+.1f}" for b in balances))


KINDS = frozenset({"wrong-notes", "missing-notes"})


def _score(name: str) -> Piece:
    demo = Path(__file__).resolve().parents[1] / "src" / "passagework" / "demo"
    path = demo / f"{name}.musicxml"
    path = path if path.exists() else data_folder() / "scores" / f"{name}.musicxml"
    return read_score(path.read_bytes(), path.name).piece


def _played(context: Context, first: int, last: int, shape: Shape | None, seed: int) -> Simulated:
    rng = np.random.default_rng(seed)
    notes = [
        n for n in context.piece.notes
        if first < n.bar < last and not n.grace and not n.ornaments and n.printed
    ]  # fmt: skip
    chosen = [notes[k] for k in rng.choice(len(notes), 2 * SLIPS, replace=False)]
    faults: list[Fault] = [WrongNote(n.id) for n in chosen[:SLIPS]]
    faults += [MissingNote(n.id) for n in chosen[SLIPS:]]
    if shape:
        faults.append(Proportion(first, last, "right", shape, 0, 8.0))
    return play(context, seed=seed, bars=(first, last), faults=faults)


def _shares(context: Context, take: Take, truth: Alignment, heard: Heard) -> list[float]:
    """Differences, in percentage points, of the shares of every triplet that both hear."""
    played = _triplets(Heard(context, take, truth))
    found = _triplets(heard)
    return [
        100 * (b - a)
        for key in played.keys() & found.keys()
        for a, b in zip(played[key], found[key], strict=True)
    ]


def _triplets(heard: Heard) -> dict[tuple[str, ...], Sequence[float]]:
    rows: dict[tuple[str, ...], Sequence[float]] = {}
    for (_, shape, _), figures in find_figures(heard).items():
        if len(shape) == 3 and len({round(x, 3) for x in written_shares(shape)}) == 1:
            for figure in figures:
                rows[tuple(n.id for chord in figure.notes for n in chord)] = figure.shares
    return rows


def _balance(heard: Heard) -> float:
    bars = accompanied_bars(heard)
    row = [a.steps for run in range(len(heard.alignment.passes)) for a in above(heard, run, bars)]
    return fmean(row) if row else float("nan")


if __name__ == "__main__":
    main()
