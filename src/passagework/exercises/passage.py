"""The bars and notes an exercise is made of."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.score.piece import Note, Piece
from passagework.spots.context import Context
from passagework.spots.spot import Spot, SpotHand

LONGEST = 4
"""Bars of a passage that is practised in one piece; of a longer spot the worst bars are taken."""

FEWEST_ATTACKS = 3
"""Moments at which something is struck, below which a passage is no exercise: bars beside it are added."""


@dataclass(frozen=True)
class Passage:
    """Some bars of the piece, the hand and the notes in question."""

    first_bar: int
    """Indices, both included."""
    last_bar: int
    hand: SpotHand
    note_ids: tuple[str, ...]
    """Notes concerned, in order; never empty."""
    spot: Spot | None = None

    @property
    def bars(self) -> range:
        """Indices of its bars."""
        return range(self.first_bar, self.last_bar + 1)

    @property
    def severity(self) -> float:
        """Severity of its spot; that of a place to be practised on purpose where there is none."""
        return self.spot.severity if self.spot else 0.5

    @property
    def key(self) -> str:
        """What tells it from other passages: for ids."""
        if self.spot:
            return self.spot.id
        return f"bars-{self.first_bar}-{self.last_bar}-{self.hand}"

    def notes(self, piece: Piece) -> tuple[Note, ...]:
        """The notes concerned, in order, each once."""
        by_id = piece.by_id
        return tuple({by_id[i].id: by_id[i] for i in self.note_ids if i in by_id}.values())


def passage_of(spot: Spot, context: Context) -> Passage:
    """The passage to practise for `spot`: its worst place, with as many bars around it as belong to it
    and are still practised in one piece, and the note that it leads to.
    """
    focus = spot.focus
    first, last = focus.first_bar, focus.last_bar
    if (
        last - first < LONGEST - 1
        and last + 1 < len(context.piece.bars)
        and _leads_on(spot, context)
    ):
        last += 1
    last = min(last, first + LONGEST - 1)
    first, last = _widened(first, last, context)
    by_id = context.piece.by_id
    ids = tuple(i for i in focus.note_ids if first <= by_id[i].bar <= last)
    return Passage(first, last, spot.hand, ids or focus.note_ids, spot)


def _widened(first: int, last: int, context: Context) -> tuple[int, int]:
    """Bars around a place that holds hardly a note, until there is something to practise."""
    final = len(context.piece.bars) - 1
    while last - first < LONGEST - 1 and (first > 0 or last < final):
        rows = context.piece.notes_of_bar[first : last + 1]
        if len({n.onset for row in rows for n in row if n.printed}) >= FEWEST_ATTACKS:
            break
        if first > 0:
            first -= 1
        if last < final and last - first < LONGEST - 1:
            last += 1
    return first, last


def _leads_on(spot: Spot, context: Context) -> bool:
    """Whether the difficulty reaches the end of its last bar, so that it ends on the next one."""
    bar = context.bar(spot.focus.last_bar)
    ends = [context.piece.by_id[i].end for i in spot.focus.note_ids if i in context.piece.by_id]
    return bool(ends) and max(ends) >= bar.end and not (bar.repeat_end or bar.endings)


def passage_of_bars(
    first_bar: int, last_bar: int, context: Context, hand: SpotHand = "both"
) -> Passage:
    """The passage of bars that a teacher chose (indices, both included).

    Raises `ValueError` where they are not in the piece or hold no note of that hand.
    """
    piece = context.piece
    if not 0 <= first_bar <= last_bar < len(piece.bars):
        raise ValueError(f"there are no bars {first_bar} to {last_bar} in this piece")
    ids = tuple(
        n.id
        for bar in range(first_bar, last_bar + 1)
        for n in piece.notes_of_bar[bar]
        if n.printed and hand in {"both", n.hand}
    )
    if not ids:
        raise ValueError("nothing is played by that hand in these bars")
    return Passage(first_bar, last_bar, hand, ids)
