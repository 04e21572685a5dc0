"""The tune against concert performances: are the notes found louder than the others?

Pianists play a tune louder than its accompaniment (Goebl, 2001), so recorded key velocities are evidence,
if no proof, of what carries it. For every score with takes (``takes/NAME/take-N.match`` in the data
folder) velocities are averaged over the takes and compared within each bar, which takes crescendos out:

louder      mean velocity of the tune's notes less that of the others in their bars, in MIDI steps
loudest     share of the moments at which the tune's note and others begin where the tune's is loudest
link        correlation between velocity and being of the tune, both less their bar's mean
top line    the same correlation for the plain highest line, for comparison

The weights of the tune were set with these same performances in view, so the figures describe them and
are no test on unseen music.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable
from math import sqrt
from pathlib import Path

from bench.harmony import data_folder
from passagework.analysis.melody import find_tune
from passagework.score import Note, Piece, read_score

PLAYED = re.compile(r"snote\((\w+)-\d+,.*-note\((.*)\)\.")


def velocities(folder: Path) -> dict[str, float]:
    """Mean velocity of every score note that the takes in `folder` play."""
    rows: dict[str, list[int]] = defaultdict(list)
    for path in sorted(folder.glob("*.match")):
        for line in path.read_text(errors="replace").splitlines():
            found = PLAYED.match(line)
            if found:
                fields = found.group(2).split(",")
                # Version 1 of the format gives channel and track after the velocity, version 5 nothing.
                spelled = "[" in found.group(2)
                rows[found.group(1)].append(int(fields[-1] if spelled else fields[4]))
    return {name: sum(values) / len(values) for name, values in rows.items()}


def by_bar(piece: Piece, loud: dict[str, float]) -> Iterable[list[Note]]:
    """The played notes of each bar."""
    for notes in piece.notes_of_bar:
        row = [n for n in notes if n.id in loud and not n.grace]
        if row:
            yield row


def link(piece: Piece, loud: dict[str, float], chosen: frozenset[str]) -> float:
    """Correlation within bars between velocity and being chosen."""
    both = ones = louds = 0.0
    for notes in by_bar(piece, loud):
        mean = sum(loud[n.id] for n in notes) / len(notes)
        share = sum(n.id in chosen for n in notes) / len(notes)
        for note in notes:
            x, y = (note.id in chosen) - share, loud[note.id] - mean
            both, ones, louds = both + x * y, ones + x * x, louds + y * y
    return both / sqrt(ones * louds) if ones and louds else 0.0


def louder(piece: Piece, loud: dict[str, float], chosen: frozenset[str]) -> float:
    """Mean over the bars of the tune's mean velocity less the others'."""
    steps: list[float] = []
    for notes in by_bar(piece, loud):
        tune = [loud[n.id] for n in notes if n.id in chosen]
        rest = [loud[n.id] for n in notes if n.id not in chosen]
        if tune and rest:
            steps.append(sum(tune) / len(tune) - sum(rest) / len(rest))
    return sum(steps) / len(steps) if steps else 0.0


def loudest(piece: Piece, loud: dict[str, float], chosen: frozenset[str]) -> float:
    """Share of the tune's moments with company at which the loudest note is the tune's."""
    right = total = 0
    for notes in by_bar(piece, loud):
        moments: dict[object, list[Note]] = defaultdict(list)
        for note in notes:
            moments[note.onset].append(note)
        for row in moments.values():
            if len(row) > 1 and any(n.id in chosen for n in row):
                total += 1
                right += max(row, key=lambda n: loud[n.id]).id in chosen
    return right / total if total else 0.0


def top_line(piece: Piece) -> frozenset[str]:
    """The highest note of every moment."""
    tops: dict[object, Note] = {}
    for note in piece.notes:
        if not note.grace and (note.onset not in tops or tops[note.onset].midi < note.midi):
            tops[note.onset] = note
    return frozenset(n.id for n in tops.values())


def main() -> None:
    """Print the figures for every score that has takes."""
    data = data_folder()
    folders = sorted(path for path in (data / "takes").glob("*") if path.is_dir())
    if not folders:
        print("no takes: set PASSAGEWORK_DATA to the folder of development data")
        return
    print(f"{'piece':28} {'louder':>7} {'loudest':>8} {'link':>6} {'top line':>9}")
    links: list[float] = []
    for folder in folders:
        path = data / "scores" / f"{folder.name}.musicxml"
        piece = read_score(path.read_bytes(), path.name).piece
        loud = velocities(folder)
        tune = find_tune(piece).melody
        links.append(link(piece, loud, tune))
        print(
            f"{folder.name:28} {louder(piece, loud, tune):7.1f} {loudest(piece, loud, tune):8.2f}"
            f" {links[-1]:6.2f} {link(piece, loud, top_line(piece)):9.2f}"
        )
    print(f"{'mean':28} {'':7} {'':8} {sum(links) / len(links):6.2f}")


if __name__ == "__main__":
    main()
