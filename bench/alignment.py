"""Alignment of takes: F1 of matches against the truth, seconds, growth with size, and the ratio to a peer in the same run.

Truth for the concert takes are the ``.match`` files beside them in the data folder (``PASSAGEWORK_DATA``, or ``../shared/data`` beside the
checkout); practice takes are made by `tests.listening.messy` from the concert takes, from every score there and from the demo pieces, played by the
house's own player. Two voices in unison count as one key. *Alike* takes a note of a bar that holds exactly the same for as
good: which of two equal bars was meant cannot be heard.

The peer is `parangonar`'s default matcher (a development dependency), on the notes of the piece played through.
"""

from __future__ import annotations

import os
import random
import sys
import time
import warnings
from collections import defaultdict
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace
from fractions import Fraction
from io import StringIO
from pathlib import Path
from statistics import mean

from passagework.listening.align import align
from passagework.listening.midi_take import take_from_midi
from passagework.listening.take import PlayedNote, Take
from passagework.score import Piece, read_score
from tests.listening import messy

EXCERPT_BARS = 20
EXCERPTS = 4
"""Excerpts of each concert take."""
SEEDS = 1
"""Practice takes of each kind from each performance."""
ROOT = Path(__file__).resolve().parents[1]

Truth = dict[int, str]


def data_folder() -> Path:
    """Where the scores and takes are, whether they are there or not."""
    named = os.environ.get("PASSAGEWORK_DATA")
    return Path(named) if named else ROOT.parent / "shared" / "data"


def pieces() -> dict[str, Piece]:
    """The scores of the data folder and the demo pieces."""
    files = sorted((data_folder() / "scores").glob("*.musicxml"))
    files += sorted((ROOT / "src" / "passagework" / "demo").glob("*.musicxml"))
    return {f.stem: read_score(f.read_bytes(), f.name).piece for f in files}


def concert(known: dict[str, Piece]) -> dict[str, tuple[Piece, Take, Truth]]:
    """The concert takes with their truth."""
    found = {}
    for path in sorted((data_folder() / "takes").glob("*/*.match")):
        take = take_from_midi(path.with_suffix(".mid").read_bytes())
        name = f"{path.parent.name} {path.stem}"
        found[name] = (known[path.parent.name], take, messy.load_truth(path, take))
    return found


def seconds(piece: Piece, take: Take, runs: int = 3) -> float:
    """Processor time of one alignment, the best of `runs`."""
    best = float("inf")
    for _ in range(runs):
        start = time.process_time()
        align(piece, take)
        best = min(best, time.process_time() - start)
    return best


def whole_movements(takes: dict[str, tuple[Piece, Take, Truth]]) -> None:
    """F1 and time for each concert take, repeats as the player took them."""
    figures = []
    print("concert takes, whole")
    for name, (piece, take, truth) in takes.items():
        found = align(piece, take)
        f1 = messy.f1(piece, found, truth)
        figures.append(f1)
        spent = seconds(piece, take, 1)
        print(
            f"  {name:36} {len(take.notes):5} notes  F1 {f1:.4f}  passes {len(found.passes)}  {spent:.2f} s"
        )
    print(f"  mean F1 {mean(figures):.4f}")


def excerpts(takes: dict[str, tuple[Piece, Take, Truth]]) -> None:
    """F1 over clean excerpts, the score cut nowhere: the aligner finds the place."""
    figures, alike = [], []
    for name, (piece, take, truth) in takes.items():
        whole = messy.from_truth(piece, take, truth)
        for number in range(EXCERPTS):
            rng = random.Random(f"{name} {number}")
            at = rng.randrange(max(1, len(piece.bars) - EXCERPT_BARS))
            row = messy.passage(whole, at, at + EXCERPT_BARS - 1)
            if not row:
                continue
            cut, right = messy.as_take(row)
            found = align(piece, cut)
            figures.append(messy.f1(piece, found, right))
            alike.append(messy.f1(piece, found, right, alike=True))
    print(
        f"clean excerpts of {EXCERPT_BARS} bars: {len(figures)}, mean F1 {mean(figures):.4f}, alike {mean(alike):.4f}"
    )


def practice(known: dict[str, Piece], takes: dict[str, tuple[Piece, Take, Truth]]) -> None:
    """F1 over practice takes, by what was done to them."""
    wholes = {name: (piece, messy.played(piece)) for name, piece in known.items()}
    for name, (piece, take, truth) in takes.items():
        if name.endswith("take-1"):
            wholes[name] = (piece, messy.from_truth(piece, take, truth))
    strict, alike = defaultdict(list), defaultdict(list)
    for name, (piece, whole) in wholes.items():
        for kind, spoil in messy.KINDS.items():
            for seed in range(SEEDS):
                row = spoil(whole, random.Random(f"{name} {kind} {seed}"))
                if not row:
                    continue
                take, right = messy.as_take(row)
                found = align(piece, take)
                strict[kind].append(messy.f1(piece, found, right))
                alike[kind].append(messy.f1(piece, found, right, alike=True))
    print("practice takes: mean F1, alike, worst")
    for kind, row in alike.items():
        print(
            f"  {kind:16} {len(row):3}  {mean(strict[kind]):.4f}  {mean(row):.4f}  {min(row):.3f}"
        )
    everything = [value for row in alike.values() for value in row]
    every = [value for row in strict.values() for value in row]
    print(f"  {'all':16} {len(every):3}  {mean(every):.4f}  {mean(everything):.4f}")


def one_after_another(known: dict[str, Piece], notes: int) -> tuple[Piece, Take]:
    """A piece of at least `notes` notes, made of scores one after another, and a take of it."""
    bars, rows = [], []
    onset, number = Fraction(0), 0
    names = [name for name, piece in known.items() if len(piece.notes) > 300] or list(known)
    while len(rows) < notes:
        piece = known[names[number % len(names)]]
        first = len(bars)
        bars += [
            replace(b, index=first + b.index, onset=onset + b.onset, repeat_end=0)
            for b in piece.bars
        ]
        rows += [
            replace(n, id=f"{number}.{n.id}", tied_ids=(), bar=first + n.bar, onset=onset + n.onset)
            for n in piece.notes
        ]
        onset += piece.end
        number += 1
    long = Piece("long", "", tuple(bars), tuple(rows))
    played = messy.unsteady(
        [
            messy.Stroke(float(n.onset) * 0.5, 0.2, n.midi, 64, n.id, n.bar, n.hand)
            for n in long.notes
            if not n.grace
        ],
        random.Random(1),
    )
    return long, messy.as_take(played[:notes])[0]


def growth(known: dict[str, Piece]) -> None:
    """Time by length: pieces made of scores one after another, played once through."""
    print("growth, piece and take of the same length (processor time)")
    for notes in (1_250, 2_500, 5_000, 10_000):
        long, take = one_after_another(known, notes)
        spent = seconds(long, take, 2)
        print(
            f"  {notes:6} notes  {spent:.2f} s  {1e6 * spent / notes:.0f} µs a note, whole piece of {len(long.notes)}"
        )
    noise = random.Random(2)
    at, rows = 0.0, []
    for _ in range(50_000):
        at += noise.expovariate(8)
        rows.append(PlayedNote(at, 0.2, noise.randint(30, 90), 64))
    piece = max(known.values(), key=lambda p: len(p.notes))
    start = time.process_time()
    found = align(piece, Take(tuple(rows)))
    print(f"  50,000 random notes: {time.process_time() - start:.1f} s, fit {found.fit:.3f}")


def peer(takes: dict[str, tuple[Piece, Take, Truth]]) -> None:
    """The same take by the peer and by us, in the same run."""
    try:
        import parangonar
        import partitura
    except ImportError as error:
        print(f"no peer ({error.name} is not installed)")
        return
    name = next((n for n in takes if n.startswith("schubert-impromptu")), next(iter(takes)))
    stem, number = name.split()
    piece, take, truth = takes[name]
    score = partitura.load_score(str(data_folder() / "scores" / f"{stem}.musicxml"))
    performance = partitura.load_performance_midi(
        str(data_folder() / "takes" / stem / f"{number}.mid")
    )
    rows, notes = score[0].note_array(include_grace_notes=True), performance[0].note_array()
    start = time.process_time()
    with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
        found = parangonar.AutomaticNoteMatcher()(rows, notes)
    theirs = time.process_time() - start
    ours = seconds(piece, take)
    matches = sum(row["label"] == "match" for row in found)
    print(
        f"peer on {name}, {len(take.notes)} notes: {theirs:.1f} s ({matches} matches of {len(truth)}), "
        f"ours {ours:.2f} s: {theirs / ours:.0f} times as fast"
    )


def main() -> None:
    """Print every table."""
    warnings.filterwarnings("ignore")
    known = pieces()
    takes = concert(known)
    if takes:
        whole_movements(takes)
        excerpts(takes)
    else:
        print(f"no takes under {data_folder()}: only the demo pieces are measured")
    practice(known, takes)
    growth(known)
    if takes:
        peer(takes)
    sys.stdout.flush()


if __name__ == "__main__":
    main()
