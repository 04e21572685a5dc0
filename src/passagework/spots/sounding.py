"""One walk along the piece that says at every attack what both hands strike and what they still hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

from passagework.hands.keyboard import key_mm
from passagework.score.piece import Note, Position, Side
from passagework.spots.context import Context, Struck

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
    tick: int
    """`onset` in ticks of the piece."""
    until: tuple[tuple[int, ...], tuple[int, ...]]
    """Ticks at which the notes of `held` end."""


def moments(context: Context) -> tuple[Moment, ...]:
    """Every attack of the piece in order; walked once and kept with the context."""
    kept: tuple[Moment, ...] | None = vars(context).get(_KEPT)
    if kept is None:
        kept = vars(context)[_KEPT] = tuple(_walk(context))
    return kept


def _walk(context: Context) -> Iterator[Moment]:
    """Linear, since few notes are ever held at once."""
    largest = context.hand.largest_mm
    place = {midi: key_mm(midi) for midi in {row[1] for row in context.struck}}
    held: tuple[list[Struck], list[Struck]] = ([], [])
    for now, rows in groupby(context.struck, key=lambda row: row[0]):
        struck: tuple[list[Struck], list[Struck]] = ([], [])
        for row in rows:
            struck[row[3].hand == "right"].append(row)
        for old, fresh in zip(held, struck, strict=True):
            low = min((place[row[1]] for row in fresh), default=0.0)
            high = max((place[row[1]] for row in fresh), default=0.0)
            old[:] = [
                row
                for row in old
                if row[2] > now
                and (not fresh or max(high - place[row[1]], place[row[1]] - low) <= largest)
            ]
        first = (struck[0] or struck[1])[0][3]
        yield Moment(
            first.onset,
            first.bar,
            (tuple(row[3] for row in struck[0]), tuple(row[3] for row in struck[1])),
            (tuple(row[3] for row in held[0]), tuple(row[3] for row in held[1])),
            now,
            (tuple(row[2] for row in held[0]), tuple(row[2] for row in held[1])),
        )
        for old, fresh in zip(held, struck, strict=True):
            old += fresh
