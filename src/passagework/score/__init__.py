"""What is written: a score file becomes a `Notation` (the MusicXML tree) and a `Piece` (frozen, exact)."""

from passagework.score.errors import ScoreError
from passagework.score.notation import Notation
from passagework.score.piece import Bar, Note, Piece, Pitch, Side
from passagework.score.read import Reading, read_score

__all__ = [
    "Bar",
    "Notation",
    "Note",
    "Piece",
    "Pitch",
    "Reading",
    "ScoreError",
    "Side",
    "read_score",
]
