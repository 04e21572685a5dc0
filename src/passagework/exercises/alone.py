"""One hand of a passage by itself, on a staff of its own where its notes keep to one."""

from __future__ import annotations

from passagework.exercises.edit.staves import only_staff, staves_used
from passagework.exercises.edit.take_out import take_out
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.notation import Notation
from passagework.score.piece import Side


def other(side: Side) -> Side:
    """The other hand."""
    return "left" if side == "right" else "right"


def hand_alone(passage: Passage, study: Study, side: Side) -> Notation:
    """The passage with the notes of one hand only."""
    gone = study.heads_of_hand(passage, other(side))
    return on_its_staff(
        take_out(study.practice(passage), gone) if gone else study.practice(passage)
    )


def on_its_staff(notation: Notation) -> Notation:
    """On a staff of its own where all notes stand on one, so that no empty staff runs beside it."""
    used = staves_used(notation)
    return only_staff(notation, next(iter(used))) if len(used) == 1 else notation


def busy_side(passage: Passage, study: Study) -> Side:
    """The hand in question; of both the one with more of the notes concerned, then with more to play."""
    if passage.hand != "both":
        return passage.hand
    notes = passage.notes(study.piece)
    left = sum(note.hand == "left" for note in notes)
    if 2 * left != len(notes):
        return "left" if 2 * left > len(notes) else "right"
    heads = {s: len(study.heads_of_hand(passage, s)) for s in ("left", "right")}
    return "left" if heads["left"] > heads["right"] else "right"
