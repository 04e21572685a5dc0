"""What is settled once the chords are known: passing keys, suspensions that resolve, late sevenths."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from passagework.analysis.harmony.decode import Path, Space
from passagework.analysis.harmony.evidence import Evidence
from passagework.analysis.harmony.grid import BEAT
from passagework.analysis.harmony.qualities import QUALITIES, SUSPENDED_SEVENTH

SUSPENDED = frozenset({"suspended-fourth", SUSPENDED_SEVENTH})
_TRIADS = {
    "dominant": "major",
    "minor-seventh": "minor",
    "major-seventh": "major",
    "half-diminished": "diminished",
    "diminished-seventh": "diminished",
}
SHORTEST_KEY = 2
"""Bars that a key must last to be one."""
LATE_BEATS = 1
"""A seventh that first sounds this many beats after its chord, on a beat, makes a chord of its own."""


def refine(path: Path, space: Space, evidence: Evidence) -> Path:
    """The path without passing keys, with resolved suspensions taken into their chords and late sevenths set apart."""
    whole = _without_passing_keys(path, space, evidence)
    return _late_sevenths(_resolved(whole, space), space, evidence)


def _without_passing_keys(path: Path, space: Space, evidence: Evidence) -> Path:
    """Keys of less than SHORTEST_KEY bars, between others, read as chords of a neighbouring key.

    So short a turn is heard as a secondary dominant, not as a new key.
    """
    key, function = list(path.key), list(path.function)
    edges = [i for i in range(len(key)) if i == 0 or key[i] != key[i - 1]] + [len(key)]
    for first, stop in list(pairwise(edges))[1:-1]:
        if evidence.grid.bars[stop] - evidence.grid.bars[first] >= SHORTEST_KEY:
            continue
        best: tuple[int, int, list[int]] | None = None
        for near in (key[first - 1], key[stop]):
            there = {int(c): at for at, c in enumerate(space.chord_at[near])}
            places = [
                there.get(int(space.chord_at[key[i], function[i]]), -1) for i in range(first, stop)
            ]
            if -1 in places:
                continue
            begins = [p for i, p in enumerate(places, first) if path.begins[i]]
            fit = sum(int(space.prior[near, p]) for p in begins)
            if best is None or fit > best[0]:
                best = (fit, near, places)
        if best is not None:
            key[first:stop] = [best[1]] * (stop - first)
            function[first:stop] = best[2]
    return replace(path, key=key, function=function)


def _runs(path: Path) -> list[tuple[int, int]]:
    starts = [i for i, begins in enumerate(path.begins) if begins]
    return list(zip(starts, [*starts[1:], len(path.begins)], strict=True))


def _resolved(path: Path, space: Space) -> Path:
    """A fourth that comes to its third over one root: one chord, named by what it comes to."""
    function, begins = list(path.function), list(path.begins)
    runs = _runs(path)
    for (first, stop), (after, _) in pairwise(runs):
        key = path.key[first]
        if path.key[after] != key:
            continue
        root, quality = space.chords[int(space.chord_at[key, path.function[first]])]
        next_root, next_quality = space.chords[int(space.chord_at[key, path.function[after]])]
        if quality in SUSPENDED and next_root == root and next_quality in QUALITIES:
            function[first:stop] = [path.function[after]] * (stop - first)
            begins[after] = False
    return replace(path, function=function, begins=begins)


def _late_sevenths(path: Path, space: Space, evidence: Evidence) -> Path:
    """``V7`` whose seventh enters later is ``V`` and then ``V7``."""
    function, begins = list(path.function), list(path.begins)
    grid = evidence.grid
    for first, stop in _runs(path):
        key = path.key[first]
        root, quality = space.chords[int(space.chord_at[key, path.function[first]])]
        triad = _place(space, key, root, _TRIADS.get(quality, ""))
        if triad is None:
            continue
        seventh = QUALITIES[quality].tones[3]
        enters = next((i for i in range(first, stop) if _sounds(evidence, i, root + seventh)), stop)
        if enters == stop or grid.levels[enters] < BEAT:
            continue
        if _only_in_figures(evidence, enters, root + seventh):
            continue
        if grid.starts[enters] - grid.starts[first] >= LATE_BEATS * grid.beats[first]:
            function[first:enters] = [triad] * (enters - first)
            begins[enters] = True
    return replace(path, function=function, begins=begins)


def _place(space: Space, key: int, root: int, quality: str) -> int | None:
    """Index of the function that a chord has in a key."""
    for at, chord in enumerate(space.chord_at[key].tolist()):
        if space.chords[chord] == (root, quality):
            return at
    return None


def _sounds(evidence: Evidence, atom: int, place: int) -> bool:
    """Whether a note, however spelled, sounds in an atom."""
    row = evidence.sound[atom]
    start = (place - evidence.low) % 12
    return bool(row[start::12].any())


def _only_in_figures(evidence: Evidence, atom: int, place: int) -> bool:
    """Whether a note is heard in an atom only as the turning point of a broken chord."""
    at, end = np.searchsorted(evidence.first, [atom, atom + 1])
    return all(
        evidence.turning[i]
        for i in range(int(at), int(end))
        if (evidence.notes[i].pitch.fifths - place) % 12 == 0
    )
