"""Which notes carry an ornament, and which ornaments the file plays out in notes of its own."""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict

from passagework.score.piece import Note, Piece, Position, sort_key

PLAYED_FREELY = frozenset(
    {"trill-mark", "shake", "wavy-line", "mordent", "inverted-mordent", "schleifer", "haydn", "tremolo"}
)  # fmt: skip
"""Signs (MusicXML's names) that add strokes; every kind of turn does too."""
NEAR = 4
"""Semitones from a note within which unprinted notes under it are its ornament."""
FEWEST = 2
"""Unprinted notes that make an ornament played out; without a sign, so many of the note's own pitch."""


def adorned(piece: Piece) -> dict[str, float]:
    """Notes of chords with an ornament sign or a tremolo, and for how many quarters it may sound."""
    chords = {
        n.chord
        for n in piece.notes
        if any(o.kind in PLAYED_FREELY or "turn" in o.kind for o in n.ornaments)
    }
    return {n.id: float(n.duration) for n in piece.notes if n.chord in chords}


def written_out(piece: Piece) -> dict[str, Position]:
    """Notes with an ornament that unprinted notes play out, and where the first of these begins."""
    hidden: dict[int, list[Note]] = defaultdict(list)
    for note in piece.notes:
        if not note.printed and not note.grace:
            hidden[note.staff].append(note)
    keys = {staff: [sort_key(n.onset) for n in notes] for staff, notes in hidden.items()}
    found: dict[str, Position] = {}
    for note in piece.notes:
        if not note.printed or note.grace or not note.duration or note.staff not in hidden:
            continue
        row = keys[note.staff]
        low, high = bisect_left(row, sort_key(note.onset)), bisect_left(row, sort_key(note.end))
        near = [n for n in hidden[note.staff][low:high] if abs(n.midi - note.midi) <= NEAR]
        own = sum(n.midi == note.midi for n in near)
        if len(near) >= FEWEST and (note.ornaments or own >= FEWEST):
            found[note.id] = near[0].onset
    return found
