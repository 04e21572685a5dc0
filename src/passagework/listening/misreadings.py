"""How a written note becomes another key: an accidental that lapses, another line of the staff, the signature forgotten.

Both the simulated player, who does it, and the findings, which recognise it, ask here.
"""

from __future__ import annotations

from dataclasses import replace

from passagework.score.piece import Note, Piece, Pitch
from passagework.spots.signature import signature_alter

LETTERS = "CDEFGAB"


def lapsed(piece: Piece, note: Note) -> Pitch | None:
    """What `note` becomes where an accidental from earlier in its bar is forgotten; None where none holds for it."""
    plain = signature_alter(note.pitch.step, piece.bars[note.bar].fifths)
    if note.accidental or note.grace or not note.printed or note.pitch.alter == plain:
        return None
    for other in piece.notes_of_bar[note.bar]:
        if other.onset >= note.onset:
            break
        if other.accidental and other.pitch == note.pitch and other.staff == note.staff:
            return replace(note.pitch, alter=plain)
    return None


def unsigned(piece: Piece, note: Note) -> Pitch | None:
    """What `note` becomes where the signature is forgotten; None where the signature does not alter it."""
    plain = signature_alter(note.pitch.step, piece.bars[note.bar].fifths)
    if plain == 0 or note.pitch.alter != plain or note.accidental:
        return None
    return replace(note.pitch, alter=0)


def moved(piece: Piece, note: Note, steps: int) -> Pitch:
    """`note` read `steps` staff steps too high (too low: negative), altered as the signature says."""
    octave, letter = divmod(note.pitch.diatonic + steps, 7)
    step = LETTERS[letter]
    return Pitch(step, signature_alter(step, piece.bars[note.bar].fifths), octave)
