"""Concert performances with what is known of them: takes and alignments from ``.match`` files.

The format is open (https://cpjku.github.io/matchfile); only what is needed of it is read here: which written note each played
note is. The id ``n12-2`` is note n12 in the second playing of its bars.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path

from passagework.listening.alignment import Alignment, Match, Missing, Pass, Substitution
from passagework.listening.midi_take import take_from_midi
from passagework.listening.take import Take
from passagework.score.piece import Piece

SCORE = re.compile(r"snote\(([\w.]+?)-(\d+),\[.*?\],[^,]*,[^,]*,[^,]*,[^,]*,([-\d.]+),")
PLAYED = re.compile(r"(?:^insertion|\))-note\((.*)\)\.")
SPELLED = re.compile(r"\[(\w),(.*?)\],(-?\d+)")
STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ALTERS = {"n": 0, "#": 1, "b": -1, "x": 2, "##": 2, "bb": -2}
NEAR_S = 0.03
"""Seconds within which a note of the file and one of the take are the same: clocks are rounded differently."""
VOTERS, GRAIN_S = 400, 0.02
SWAP_S, SWAP_KEYS = 0.15, 12


@dataclass(frozen=True)
class Concert:
    """A concert take with its alignment."""

    name: str
    take: Take
    alignment: Alignment


@dataclass(frozen=True)
class _Row:
    ident: str
    time: int
    beats: float
    played: tuple[float, int] | None


def concert_takes(folder: Path, name: str) -> list[Path]:
    """The ``.match`` files of a score that has takes."""
    return sorted((folder / "takes" / name).glob("*.match"))


def concert(path: Path, piece: Piece) -> Concert:
    """The take beside a ``.match`` file, and its alignment as the file tells it."""
    take = take_from_midi(path.with_suffix(".mid").read_bytes())
    rows = _rows(path)
    index = _index(take)
    shift = _shift(rows, take)
    run_of = _runs(rows, piece)
    used: set[int] = set()
    matches: list[Match] = []
    missing: list[Missing] = []
    for row in rows:
        if row.ident not in piece.by_id or piece.by_id[row.ident].id != row.ident:
            continue  # a tied notehead is no note of its own
        run = run_of[row.ident, row.time]
        at = None if row.played is None else _find(index, (row.played[0] + shift, row.played[1]))
        if at is None or at in used:
            missing.append(Missing(row.ident, run))
        else:
            used.add(at)
            matches.append(Match(row.ident, at, run))
    matches.sort(key=lambda m: m.played)
    extra = tuple(k for k in range(len(take.notes)) if k not in used)
    passes = _passes(matches, take, piece, max(run_of.values(), default=0) + 1)
    swapped = _swapped(piece, take, matches, missing, extra)
    alignment = Alignment(
        tuple(matches),
        tuple(missing),
        extra,
        swapped,
        passes,
        len(matches) / max(len(take.notes), 1),
    )
    return Concert(f"{path.parent.name} {path.stem}", take, alignment)


def _rows(path: Path) -> list[_Row]:
    text = path.read_text(errors="replace")
    units = float(_info(text, "midiClockUnits", "480"))
    rate = float(_info(text, "midiClockRate", "500000"))
    tick = rate / 1_000_000 / units
    rows: list[_Row] = []
    for line in text.splitlines():
        score = SCORE.match(line)
        if score is None:
            continue
        played = PLAYED.search(line)
        rows.append(
            _Row(
                score.group(1),
                int(score.group(2)),
                float(score.group(3)),
                _played(played.group(1), tick) if played else None,
            )
        )
    return rows


def _info(text: str, name: str, otherwise: str) -> str:
    found = re.search(rf"info\({name},([^)]*)\)", text)
    return found.group(1) if found else otherwise


def _played(fields: str, tick: float) -> tuple[float, int]:
    """Onset in seconds and key. Version 5 spells the pitch, version 1 gives its number."""
    spelled = SPELLED.search(fields)
    if spelled:
        step, alter, octave = spelled.groups()
        pitch = STEPS[step.upper()] + ALTERS[alter] + 12 * (int(octave) + 1)
        onset = fields[spelled.end() :].split(",")[1]
        return float(onset) * tick, pitch
    parts = fields.split(",")
    return float(parts[2]) * tick, int(parts[1])


def _shift(rows: list[_Row], take: Take) -> float:
    """Seconds by which the take's clock is ahead of the file's: some files were cut before they were aligned. The shift that
    brings most notes of one key together is taken.
    """
    index = _index(take)
    votes: dict[int, int] = defaultdict(int)
    for row in [r for r in rows if r.played][:VOTERS]:
        assert row.played is not None
        for onset in index.get(row.played[1], ([], []))[0]:
            votes[round((onset - row.played[0]) / GRAIN_S)] += 1
    if not votes:
        return 0.0
    best = max(votes, key=lambda k: votes[k] + votes.get(k + 1, 0) + votes.get(k - 1, 0))
    return best * GRAIN_S


Index = dict[int, tuple[list[float], list[int]]]


def _index(take: Take) -> Index:
    rows: dict[int, tuple[list[float], list[int]]] = defaultdict(lambda: ([], []))
    for k, note in enumerate(take.notes):
        rows[note.pitch][0].append(note.onset)
        rows[note.pitch][1].append(k)
    return rows


def _find(index: Index, played: tuple[float, int]) -> int | None:
    onsets, places = index.get(played[1], ([], []))
    at = bisect_left(onsets, played[0] - NEAR_S)
    near = [k for k in range(at, min(at + 3, len(onsets))) if abs(onsets[k] - played[0]) <= NEAR_S]
    return places[min(near, key=lambda k: abs(onsets[k] - played[0]))] if near else None


def _runs(rows: list[_Row], piece: Piece) -> dict[tuple[str, int], int]:
    """The pass of every (note, playing): a new one where the bars go back."""
    found: dict[tuple[str, int], int] = {}
    run, bar = 0, 0
    for row in sorted(rows, key=lambda r: r.beats):
        note = piece.by_id.get(row.ident)
        if note is None:
            continue
        if note.bar < bar - 1:
            run += 1
        bar = note.bar
        found[row.ident, row.time] = run
    return found


def _passes(matches: list[Match], take: Take, piece: Piece, count: int) -> tuple[Pass, ...]:
    rows: list[list[Match]] = [[] for _ in range(count)]
    for match in matches:
        rows[match.run].append(match)
    return tuple(
        Pass(
            min(piece.by_id[m.note].bar for m in row),
            max(piece.by_id[m.note].bar for m in row),
            min(take.notes[m.played].onset for m in row),
            max(take.notes[m.played].end for m in row),
        )
        for row in rows
    )


def _swapped(
    piece: Piece, take: Take, matches: list[Match], missing: list[Missing], extra: tuple[int, ...]
) -> tuple[Substitution, ...]:
    """Pairs of a missing note and an added one near it in time (by the notes of its onset) and in keys."""
    when: dict[tuple[int, object], float] = {}
    for match in matches:
        when.setdefault((match.run, piece.by_id[match.note].onset), take.notes[match.played].onset)
    left = list(extra)
    onsets = [take.notes[k].onset for k in left]
    used: set[int] = set()
    found: list[Substitution] = []
    for gone in missing:
        note = piece.by_id[gone.note]
        due = when.get((gone.run, note.onset))
        if due is None:
            continue
        near = [
            left[k]
            for k in range(bisect_left(onsets, due - SWAP_S), bisect_left(onsets, due + SWAP_S))
            if left[k] not in used and 0 < abs(take.notes[left[k]].pitch - note.midi) <= SWAP_KEYS
        ]
        if near:
            best = min(near, key=lambda k: abs(take.notes[k].pitch - note.midi))
            used.add(best)
            found.append(Substitution(gone.note, best, gone.run))
    return tuple(found)
