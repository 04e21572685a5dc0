"""What a technique may ask about the piece, worked out once for all exercises."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from passagework.exercises.edit.tempo_mark import without_tempo
from passagework.score.cut import cut
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Piece, Side
from passagework.spots.context import Context

if TYPE_CHECKING:
    from passagework.analysis.melody import Tune
    from passagework.exercises.passage import Passage
    from passagework.hands.fingering import Fingering


@dataclass(frozen=True)
class Study:
    """A piece with its notation and the student's hand; derived facts are cached properties."""

    context: Context
    notation: Notation
    """Of the whole piece; never edited, every step edits a copy of some bars."""
    _cuts: dict[tuple[int, int], Notation] = field(default_factory=dict, repr=False)
    _practice: dict[tuple[int, int], Notation] = field(default_factory=dict, repr=False)
    _pieces: dict[tuple[int, int], Piece] = field(default_factory=dict, repr=False)

    @property
    def piece(self) -> Piece:
        """The piece."""
        return self.context.piece

    @property
    def tune(self) -> Tune:
        """The tune of the piece."""
        return self.context.tune

    @property
    def fingering(self) -> Fingering:
        """A fingering of the piece for the student's hand."""
        return self.context.fingering

    def cut(self, first_bar: int, last_bar: int) -> Notation:
        """These bars as a notation of their own. Shared: whoever edits it copies it first (the
        functions of `passagework.exercises.edit` do).
        """
        key = first_bar, last_bar
        if key not in self._cuts:
            self._cuts[key] = cut(self.notation, first_bar, last_bar)
        return self._cuts[key]

    def cut_piece(self, first_bar: int, last_bar: int) -> Piece:
        """The reading of `cut`: positions count from the first of these bars."""
        key = first_bar, last_bar
        if key not in self._pieces:
            self._pieces[key] = read_piece(self.cut(first_bar, last_bar))
        return self._pieces[key]

    def written(self, passage: Passage) -> Notation:
        """The passage as written."""
        return self.cut(passage.first_bar, passage.last_bar)

    def practice(self, passage: Passage) -> Notation:
        """The passage as written but for the piece's own tempo marks: for steps at other tempos."""
        key = passage.first_bar, passage.last_bar
        if key not in self._practice:
            self._practice[key] = without_tempo(self.cut(*key))
        return self._practice[key]

    def heads_of_hand(self, passage: Passage, side: Side) -> frozenset[str]:
        """Ids of all noteheads of one hand in the passage's bars (as the whole piece tells the hands)."""
        by_id = self.piece.by_id
        return frozenset(
            head
            for note in self.cut_piece(passage.first_bar, passage.last_bar).notes
            for head in note.ids
            if (by_id[head].hand if head in by_id else note.hand) == side
        )
