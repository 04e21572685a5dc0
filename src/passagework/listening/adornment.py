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


def adorned(piece: Piece) -> dict[str, tuple[float, float]]:
    """Notes of chords with an ornament sign or a tremolo, and from where to where (quarters) its strokes may fall."""
    found: dict[str, tuple[float, float]] = {}
    signs = {
        n.chord: o for n in piece.notes for o in n.ornaments if o.kind in PLAYED_FREELY or "turn" in o.kind
    }  # fmt: skip
    for note in piece.notes:
        sign = signs.get(note.chord)
        if sign is not None:
            start, lasting = sort_key(note.onset), float(note.duration)
            paired = sign.kind == "tremolo"
            before = lasting if paired and sign.role == "stop" else 0.0
            after = lasting if paired and sign.role == "start" else 0.0
            found[note.id] = (start - before, start + lasting + after)
    return found


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
