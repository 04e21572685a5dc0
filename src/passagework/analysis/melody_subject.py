"""Entries of a subject: where a line that opened the piece alone comes back, in any voice.

The opening line is looked for as a pattern of points (onset, staff step), shifted in time and pitch,
anywhere among the notes; so no voices have to be told apart first. A tonal answer changes a few
intervals by a step, so some points may be a step off or missing. The idea of matching music as points
rather than strings is that of Meredith, Lemstrom and Wiggins (2002).
Entries in inversion, augmentation or diminution are not looked for.
"""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.melody_slices import Slices
from passagework.score.piece import Piece

SHORTEST = 6
"""Notes a line must have to be called a subject: fewer are a motive, and motives are everywhere."""

LONGEST = 24
"""Notes of the subject that are compared; the head of a long one is enough to know it."""

ALTERED_SHARE = 0.25
"""Share of the notes that an answer may change by a step (a tonal answer changes its head)."""

MISSING_SHARE = 0.1
"""Share of the notes that an entry may lack (ties, ornaments written out)."""

HEAD_SHARE = 0.5
"""Share of the subject that must be there for an entry: many entries break off or are varied at the end."""

CHANGES = (1, -1)
"""Staff steps by which a note of a tonal answer may differ."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the subject: indices of its notes in order."""

    notes: tuple[int, ...]


def subject_entries(piece: Piece, slices: Slices) -> tuple[Entry, ...]:
    """The opening unaccompanied line and its later entries; empty where it does not come back.

    The opening line is what sounds alone from the first attack until a second note sounds with it.
    """
    rows = slices.attacks
    opening = _opening(slices)
    if len(opening) < SHORTEST:
        return ()
    diatonic = [piece.notes[rows.note[i]].pitch.diatonic for i in range(len(rows.ids))]
    start, base = rows.onset[opening[0]], diatonic[opening[0]]
    shape = [(rows.onset[i] - start, diatonic[i] - base) for i in opening]
    at: dict[tuple[int, int], int] = {}
    for i in range(len(rows.ids)):
        at.setdefault((rows.onset[i], diatonic[i]), i)
    matches: list[list[int]] = []
    for i in range(len(rows.ids)):
        found = _match(shape, rows.onset[i], diatonic[i], at, len(opening))
        if found:
            matches.append(found)
    matches.sort(key=lambda found: (-len(found), found[0]))
    entries: list[Entry] = []
    claimed: set[int] = set()
    for found in matches:
        if not claimed.intersection(found):
            entries.append(Entry(tuple(found)))
            claimed.update(found)
    entries.sort(key=lambda entry: entry.notes[0])
    return tuple(entries) if len(entries) > 1 else ()


def _opening(slices: Slices) -> list[int]:
    line: list[int] = []
    for begins, sounding in zip(slices.begins, slices.sounding, strict=True):
        if len(begins) != 1 or len(sounding) != 1 or len(line) == LONGEST:
            break
        line.append(begins[0])
    return line


def _match(
    shape: list[tuple[int, int]],
    onset: int,
    step: int,
    at: dict[tuple[int, int], int],
    size: int,
) -> list[int] | None:
    """Indices of the notes that answer `shape` from (onset, step) on, or None.

    A tonal answer may begin a step too high or low against the rest: the rest is then one step off
    all along, which the allowance for single changed notes would not cover; so the offset may settle
    on a new step once, within the first third.
    """
    tries = (_match_settled(shape, onset, step, settle, at, size) for settle in (0, 1, -1))
    return max((found for found in tries if found), key=len, default=None)


def _match_settled(
    shape: list[tuple[int, int]],
    onset: int,
    step: int,
    settle: int,
    at: dict[tuple[int, int], int],
    size: int,
) -> list[int] | None:
    missing_left = int(size * MISSING_SHARE)
    needed = max(SHORTEST, size * HEAD_SHARE)
    altered = 0
    found: list[int] = []
    for k, (time, rise) in enumerate(shape):
        expected = step + rise + (settle if k else 0)
        hit = at.get((onset + time, expected))
        if hit is None:
            near = (at.get((onset + time, expected + d)) for d in CHANGES)
            hit = next((h for h in near if h is not None), None)
            if hit is None:
                missing_left -= 1
            else:
                altered += 1
            if missing_left < 0 or altered > 1 + k * ALTERED_SHARE:
                break
        if hit is not None:
            found.append(hit)
    return found if len(found) >= needed else None
