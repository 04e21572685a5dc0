"""One walk along the piece that says at every attack what both hands strike and what they still hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Note, Position, Side
from passagework.spots.context import Context, is_plain

_KEPT = "_moments"
"""Where a context keeps its walk, as a cached property would."""

SIDES: tuple[Side, Side] = ("left", "right")


@dataclass(frozen=True, slots=True)
class Moment:
    """A position at which something is struck; tuples are indexed left 0, right 1."""

    onset: Position
    bar: int
    struck: tuple[tuple[Note, ...], tuple[Note, ...]]
    held: tuple[tuple[Note, ...], tuple[Note, ...]]
    """Notes struck earlier that have not ended at `onset` and that the hand can still hold: one from
    which it has moved away further than its largest reach is held by the pedal only."""


def moments(context: Context) -> tuple[Moment, ...]:
    """Every attack of the piece in order; walked once and kept with the context."""
    kept: tuple[Moment, ...] | None = vars(context).get(_KEPT)
    if kept is None:
        kept = vars(context)[_KEPT] = tuple(_walk(context))
    return kept


def _walk(context: Context) -> Iterator[Moment]:
    """Linear, since few notes are ever held at once."""
    piece = context.piece
    ticks, largest = piece.ticks, context.hand.largest_mm
    notes = [n for n in piece.notes if is_plain(n)]
    held: tuple[list[tuple[int, Note]], list[tuple[int, Note]]] = ([], [])
    at = 0
    while at < len(notes):
        onset = notes[at].onset
        struck: tuple[list[Note], list[Note]] = ([], [])
        bar = notes[at].bar
        while at < len(notes) and notes[at].onset == onset:
            struck[notes[at].hand == "right"].append(notes[at])
            at += 1
        now = ticks(onset)
        for row, fresh in zip(held, struck, strict=True):
            row[:] = [
                (end, n)
                for end, n in row
                if end > now and all(distance_mm(n.midi, f.midi) <= largest for f in fresh)
            ]
        yield Moment(
            onset,
            bar,
            (tuple(struck[0]), tuple(struck[1])),
            (tuple(n for _, n in held[0]), tuple(n for _, n in held[1])),
        )
        for row, fresh in zip(held, struck, strict=True):
            row += [(now + ticks(n.duration), n) for n in fresh]
