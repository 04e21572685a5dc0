"""The layers over the score: rings of the places, and the tune with its harmony."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from passagework.engraving.marks import Chord, Mark, Ring, Side, Tune, Word
from passagework.guide.preparation import Preparation
from passagework.score.piece import Piece
from passagework.spots.context import Context
from passagework.spots.spot import Spot


def rings(spots: Sequence[Spot]) -> list[Mark]:
    """A numbered ring for each listed spot, around the worst of it."""
    return [Ring(s.focus.note_ids, str(s.rank)) for s in spots]


def finger_marks(preparation: Preparation) -> list[Mark]:
    """Fingers in pencil where an editor would print one and the edition has none."""
    piece = preparation.piece
    fingering = preparation.fingering
    marks: list[Mark] = []
    # The number nearest to the staff belongs to the note nearest to it: upwards above, downwards below.
    outwards = sorted(
        piece.notes, key=lambda n: (n.onset, not n.grace, n.midi if n.hand == "right" else -n.midi)
    )
    for note in outwards:
        printed = bool(note.fingers) and note.id not in fingering.overruled
        if note.id not in preparation.editorial_ids or printed or not note.printed:
            continue
        fingers = fingering.fingers.get(note.id)
        if fingers:
            side: Side = "above" if note.hand == "right" else "below"
            marks.append(Word(note.id, "–".join(map(str, fingers)), side))
    return marks


def music_marks(context: Context) -> list[Mark]:
    """The tune rubbed in with the side of the pencil, chord symbols and numerals under the systems."""
    marks: list[Mark] = [Tune(span.note_ids) for span in context.tune.line]
    starts = first_at(context.piece)
    said = ("", "")
    for chord in context.harmony.chords:
        note = starts.get(chord.onset)
        if note is None or (chord.symbol, chord.numeral) == said:
            continue
        said = (chord.symbol, chord.numeral)
        marks.append(Chord(note, chord.symbol, chord.numeral))
    return marks


def first_at(piece: Piece) -> dict[Fraction, str]:
    """For every position the id of a printed notehead that stands there, the lowest one."""
    found: dict[Fraction, str] = {}
    for note in piece.notes:
        if note.printed and not note.grace:
            found.setdefault(note.onset, note.id)
    return found
