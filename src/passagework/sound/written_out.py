"""Ornaments that the file itself plays out: unprinted notes under a note with a sign.

Such notes take the place of the note with the sign: it sounds only until the first of them, and its sign is not
played a second time.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict

from passagework.score.piece import Note, Piece, Position

NEAR = 4
"""Semitones from the note with the sign within which the notes of its ornament lie."""
FEWEST = 2
"""Unprinted notes that are an ornament played out."""


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
        if not note.printed or not note.ornaments or note.staff not in hidden:
            continue
        row = hidden[note.staff]
        at = bisect_left(onsets[note.staff], note.onset)
        inside: list[Note] = []
        while at < len(row) and row[at].onset < note.end:
            inside.append(row[at])
            at += 1
        for member in chords[note.chord]:
            near = [n for n in inside if abs(n.midi - member.midi) <= NEAR]
            if len(near) >= FEWEST:
                found[member.id] = near[0].onset
                break
    return found
