"""The parts of a passage as the ear divides it: the tune, and what each hand plays beside it."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.piece import Note, Side

SIDES: tuple[Side, ...] = ("right", "left")


@dataclass(frozen=True)
class Parts:
    """Noteheads (of the passage cut out of the piece) by part."""

    tune: frozenset[str]
    """Heads of the notes that carry the tune."""
    doublings: frozenset[str]
    """Heads of notes that double it at the octave: they are played with it."""
    beside: dict[Side, frozenset[str]]
    """For each hand the heads of all its other notes."""
    hands: tuple[Side, ...]
    """The hands that have the tune, in the order in which they take it."""
    notes: tuple[Note, ...]
    """The tune's notes in order, grace notes apart."""

    @property
    def sung(self) -> frozenset[str]:
        """Tune and doublings."""
        return self.tune | self.doublings

    @property
    def split(self) -> tuple[Side, ...]:
        """Hands that play tune and something else."""
        return tuple(s for s in SIDES if s in self.hands and self.beside[s])


def find_parts(passage: Passage, study: Study) -> Parts:
    """Tune and accompaniment in the passage's bars, as the analysis of the whole piece hears them."""
    tune, by_id = study.tune, study.piece.by_id
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    sung: set[str] = set()
    doubled: set[str] = set()
    order: list[Note] = []
    for note in piece.notes:
        whole = by_id.get(note.id)
        name = whole.id if whole else note.id  # tied over from before: the whole note's own id
        if name in tune.melody:
            sung.update(note.ids)
            if not note.grace and note.duration:
                order.append(whole or note)
        elif name in tune.doublings:
            doubled.update(note.ids)
    hands = tuple(dict.fromkeys(n.hand for n in order))
    beside = {
        side: study.heads_of_hand(passage, side) - frozenset(sung) - frozenset(doubled)
        for side in SIDES
    }
    return Parts(frozenset(sung), frozenset(doubled), beside, hands, tuple(order))
