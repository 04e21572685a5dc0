"""What a key signature says about each letter, and its name in words."""

from __future__ import annotations

from bisect import bisect_right

from passagework.score.piece import KeySignature, Piece, Position
from passagework.spots.words_of import counted

SHARPS = "FCGDAEB"
"""Letters in the order in which sharps are written; flats come the other way round."""

_MAJORS = ("C flat", "G flat", "D flat", "A flat", "E flat", "B flat", "F", "C", "G", "D", "A", "E",
           "B", "F sharp", "C sharp")  # fmt: skip
_MINORS = ("A flat", "E flat", "B flat", "F", "C", "G", "D", "A", "E", "B", "F sharp", "C sharp",
           "G sharp", "D sharp", "A sharp")  # fmt: skip


def signature_alter(step: str, fifths: int) -> int:
    """Semitones by which a signature of `fifths` (-7 to 7) alters the letter `step`."""
    place = SHARPS.index(step)
    if fifths >= 0:
        return int(place < fifths)
    return -int(6 - place < -fifths)


def signature_words(fifths: int) -> str:
    """``"three flats"``, ``"one sharp"``, ``"no sharps or flats"``."""
    if fifths == 0:
        return "no sharps or flats"
    return counted(abs(fifths), "sharp" if fifths > 0 else "flat")


def key_names(fifths: int, mode: str | None = None) -> str:
    """The key of a signature: ``"D flat major"``, both keys where the file does not give the mode."""
    at = min(max(fifths, -7), 7) + 7
    major, minor = f"{_MAJORS[at]} major", f"{_MINORS[at]} minor"
    if mode in {"major", "minor"}:
        return major if mode == "major" else minor
    return f"{major} or {minor}"


class Signatures:
    """The signature in force at every position of a piece."""

    def __init__(self, piece: Piece) -> None:
        """Read the signatures of `piece`; without any, the bars say."""
        self.rows: list[KeySignature] = []
        for row in sorted(piece.key_signatures, key=lambda k: k.onset):
            if self.rows and self.rows[-1].onset == row.onset:
                continue
            if not self.rows or self.rows[-1].fifths != row.fifths:
                self.rows.append(row)
        self._onsets = [row.onset for row in self.rows]

    def at(self, position: Position) -> int:
        """Sharps (positive) or flats (negative) in force at `position`."""
        if len(self.rows) == 1:
            return self.rows[0].fifths
        at = bisect_right(self._onsets, position) - 1
        return self.rows[max(at, 0)].fifths if self.rows else 0

    @property
    def changes(self) -> list[tuple[KeySignature, KeySignature]]:
        """(the old, the new) for every change within the piece."""
        return list(zip(self.rows, self.rows[1:], strict=False))
