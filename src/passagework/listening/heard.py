"""What every module of findings may ask about a take, computed once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from passagework.analysis.texture import BarTexture
from passagework.listening.alignment import Alignment, Match
from passagework.listening.beat import OwnBeat, own_beat
from passagework.listening.breathing import Breathing
from passagework.listening.take import PlayedNote, Take
from passagework.score.piece import Note, Piece
from passagework.spots.context import Context
from passagework.spots.find import find_candidates
from passagework.spots.polyrhythm import Clash, clashes_by_bar
from passagework.spots.spot import Candidate

if TYPE_CHECKING:
    from passagework.listening.findings.sorted_slips import SortedSlips


@dataclass(frozen=True)
class Heard:
    """A take laid along a piece, with what is known of the piece; derived facts are cached properties."""

    context: Context
    take: Take
    alignment: Alignment

    @property
    def piece(self) -> Piece:
        """The piece."""
        return self.context.piece

    def stroke(self, match: Match) -> PlayedNote:
        """The stroke of a match."""
        return self.take.notes[match.played]

    def note(self, match: Match) -> Note:
        """The written note of a match."""
        return self.piece.by_id[match.note]

    @cached_property
    def struck(self) -> tuple[Mapping[str, PlayedNote], ...]:
        """For each pass, the strokes by the id of the written note."""
        return tuple(
            {m.note: self.take.notes[m.played] for m in row} for row in self.alignment.by_pass
        )

    @cached_property
    def beats(self) -> tuple[OwnBeat | None, ...]:
        """For each pass the player's own beat; None where too little was played."""
        return tuple(own_beat(self.piece, struck) for struck in self.struck)

    @cached_property
    def breathing(self) -> Breathing:
        """Where the music leaves time."""
        return Breathing(self.context)

    @cached_property
    def candidates(self) -> Mapping[str, tuple[Candidate, ...]]:
        """Every occurrence of every kind of difficulty, by the kind's name: what may stand behind a finding."""
        return find_candidates(self.context)

    @cached_property
    def clashes(self) -> Mapping[int, Sequence[Clash]]:
        """Where two divisions of the beat stand against each other, by the bar's index."""
        return clashes_by_bar(self.context)

    @cached_property
    def difficulties(self) -> Mapping[str, tuple[tuple[str, float], ...]]:
        """For each written note the kinds of difficulty it has part in, with their severity."""
        rows: dict[str, list[tuple[str, float]]] = {}
        for kind, found in self.candidates.items():
            for candidate in found:
                for ident in candidate.note_ids:
                    rows.setdefault(ident, []).append((kind, candidate.severity))
        return {ident: tuple(row) for ident, row in rows.items()}

    @cached_property
    def textures_of(self) -> tuple[tuple[BarTexture, ...], ...]:
        """For every bar how each hand is written."""
        rows: list[list[BarTexture]] = [[] for _ in self.piece.bars]
        for texture in self.context.texture:
            rows[texture.bar].append(texture)
        return tuple(tuple(row) for row in rows)

    @cached_property
    def slips(self) -> SortedSlips:
        """Wrong, missing and added notes, sorted by what they have in common."""
        from passagework.listening.findings.sorted_slips import sort_slips  # which asks this class

        return sort_slips(self)
