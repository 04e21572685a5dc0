"""Everything the pages draw on, computed once for a score and a hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import PurePath
from typing import TYPE_CHECKING

from passagework.analysis.terms_read import Term, read_terms
from passagework.hands.hand import Hand, Hands
from passagework.score.notation import Notation
from passagework.score.piece import Piece
from passagework.score.read import Reading
from passagework.spots.context import Context
from passagework.spots.find import find_candidates, find_spots
from passagework.spots.spot import Candidate, Spot

if TYPE_CHECKING:
    from passagework.exercises.study import Study
    from passagework.hands.beyond import Beyond
    from passagework.hands.fingering import Fingering


@dataclass(frozen=True)
class Preparation:
    """A reading with the hand it is prepared for; what follows from them is computed when asked."""

    reading: Reading
    hand: Hand
    student: str = ""
    """Name to print on the pages; empty for nobody in particular."""
    file_name: str = ""
    """Name of the score's file, which stands in for a title where the score has none."""
    both: Hands | None = None
    """Both hands where they differ; `hand` is then the smaller one, by which difficulties are judged."""
    fixed: Mapping[str, tuple[int, ...]] = field(default_factory=dict, hash=False)
    """The teacher's fingers by note id."""

    @property
    def title(self) -> str:
        """What to call the piece."""
        stem = PurePath(self.file_name).stem.replace("_", " ").replace("-", " ").strip()
        name = stem[:80].encode("utf-8", "replace").decode()  # the system's names need not be UTF-8
        return self.piece.title or name or "A piece without a title"

    @property
    def piece(self) -> Piece:
        """The piece."""
        return self.reading.piece

    @property
    def notation(self) -> Notation:
        """The notation document."""
        return self.reading.notation

    @cached_property
    def context(self) -> Context:
        """What the detectors know."""
        return Context(self.piece, self.hand, self.both, self.fixed)

    @cached_property
    def candidates(self) -> Mapping[str, tuple[Candidate, ...]]:
        """Every occurrence of every kind."""
        return find_candidates(self.context)

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """All spots, the short list first."""
        return find_spots(self.context, dict(self.candidates))

    @cached_property
    def terms(self) -> tuple[Term, ...]:
        """The words on the page."""
        return read_terms(self.piece)

    @property
    def fingering(self) -> Fingering:
        """Fingers for every note, the printed ones kept where this hand can take them."""
        return self.context.fingering

    @cached_property
    def editorial_ids(self) -> frozenset[str]:
        """Notes on which an editor would print a finger."""
        from passagework.hands.editorial import editorial

        return editorial(self.fingering, self.piece)

    @cached_property
    def beyond(self) -> tuple[Beyond, ...]:
        """What the hand cannot have down at once, with the ways out."""
        from passagework.hands.beyond import beyond_reach

        return beyond_reach(self.piece, self.hands, tempo=self.context.tempo)

    def with_fixed(
        self, fixed: Mapping[str, tuple[int, ...]], reading: Reading | None = None
    ) -> Preparation:
        """The same with other fingers fixed; what does not hang on them is not worked out again.

        `reading` is the same score with these fingers in print, where they are to be.
        """
        reading = reading or self.reading
        other = replace(self, fixed=fixed, reading=reading)
        names = ("candidates", "spots", "terms", "beyond")
        other.__dict__.update({n: self.__dict__[n] for n in names if n in self.__dict__})
        other.__dict__["context"] = self.context.with_fixed(fixed, reading.piece)
        return other

    @cached_property
    def study(self) -> Study:
        """What the practice techniques may ask about the piece."""
        from passagework.exercises.study import Study

        return Study(self.context, self.notation)

    @property
    def hands(self) -> Hands:
        """Both hands of the student."""
        return self.both or Hands.alike(self.hand)

    @property
    def listed(self) -> tuple[Spot, ...]:
        """The short list, in order of importance."""
        return tuple(s for s in self.spots if s.rank)
