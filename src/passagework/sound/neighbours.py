"""The notes that an ornament sign adds to its own: spelled from the sign, the bar and the key signature."""

from __future__ import annotations

from passagework.score.piece import Note, Piece, Pitch

SHARPS, LETTERS = "FCGDAEB", "CDEFGAB"
MARKS = {
    "sharp": 1, "flat": -1, "natural": 0, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
    "double-flat": -2,
}  # fmt: skip
"""MusicXML's accidental values to semitones."""


def signature_alter(letter: str, fifths: int) -> int:
    """Semitones by which a key signature of `fifths` sharps (flats negative) alters `letter`."""
    at = SHARPS.index(letter)
    return (fifths - at + 6) // 7 if fifths >= 0 else -((-fifths - (6 - at) + 6) // 7)


def neighbour(piece: Piece, note: Note, steps: int, accidental: str = "") -> int:
    """MIDI number of the note `steps` letters above (positive) or below `note`.

    Its alteration is the one printed at the sign, else the last one used for that place on the staff earlier in the
    bar, else the key signature's.
    """
    index = note.pitch.diatonic + steps
    octave, letter = divmod(index, 7)
    step = LETTERS[letter]
    alter = MARKS.get(accidental)
    if alter is None:
        alter = signature_alter(step, piece.bars[note.bar].fifths)
        for other in piece.notes_of_bar[note.bar]:
            if other.onset >= note.onset:
                break
            if other.pitch.diatonic == index and other.staff == note.staff:
                alter = other.pitch.alter
    return Pitch(step, alter, octave).midi
