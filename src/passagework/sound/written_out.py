"""Ornaments that the file itself plays out: unprinted notes under a printed one.

Such notes take the place of the printed note: it sounds only until the first of them, and its sign is not played a
second time. Where no sign is printed (a *tr* typed as text) the unprinted notes must come back to the note's own pitch.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict

from passagework.score.piece import Note, Piece, Position

NEAR = 4
"""Semitones from the note with the sign within which the notes of its ornament lie."""
FEWEST, FEWEST_UNSIGNED = 2, 4
"""Unprinted notes that are an ornament played out, under a note with a sign and under one without."""


def written_out(piece: Piece) -> dict[str, Position]:
    """Notes whose ornament is played out by unprinted ones, and where the first of these begins."""
    hidden: dict[int, list[Note]] = defaultdict(list)
    chords: dict[int, list[Note]] = defaultdict(list)
    for note in piece.notes:
        if not note.printed and not note.grace:
            hidden[note.staff].append(note)
        elif note.printed:
            chords[note.chord].append(note)
    if not hidden:
        return {}
    onsets = {staff: [n.onset for n in notes] for staff, notes in hidden.items()}
    found: dict[str, Position] = {}
    for note in piece.notes:
        if not note.printed or note.grace or note.staff not in hidden:
            continue
        fewest = FEWEST if note.ornaments else FEWEST_UNSIGNED
        row = hidden[note.staff]
        at = bisect_left(onsets[note.staff], note.onset)
        inside: list[Note] = []
        while at < len(row) and row[at].onset < note.end:
            inside.append(row[at])
            at += 1
        for member in chords[note.chord]:
            near = [n for n in inside if abs(n.midi - member.midi) <= NEAR]
            own = sum(n.midi == member.midi for n in near)
            if len(near) >= fewest and (note.ornaments or own >= FEWEST):
                found[member.id] = near[0].onset
                break
    return found
