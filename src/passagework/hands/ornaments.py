"""Fingers that an ornament needs besides the one on its own note."""

from __future__ import annotations

from passagework.hands.slices import Slice

UPPER = frozenset({"trill-mark", "inverted-mordent", "shake", "haydn", "wavy-line"})
"""Ornaments that alternate with the note above (MusicXML: an inverted mordent has no stroke)."""

LOWER = frozenset({"mordent"})
"""The stroked sign: it alternates with the note below."""

BOTH = frozenset({"turn", "inverted-turn", "delayed-turn", "delayed-inverted-turn", "vertical-turn",
                  "inverted-vertical-turn"})  # fmt: skip

PAIR_COST = {
    (1, 3): 0.0, (2, 3): 0.0, (1, 2): 0.3, (2, 4): 0.5, (3, 5): 0.8, (3, 4): 0.8, (1, 4): 0.8,
    (2, 5): 1.5, (4, 5): 1.5, (1, 5): 2.0,
}  # fmt: skip
"""Which two fingers shake well: 1-3 and 2-3 first, as every school teaches, the outer ones last."""

NO_FINGER = 12.0
"""No finger is free for the other note: only where nothing else can be done."""


def ornament_cost(slice_: Slice, shape: tuple[int, ...], *, left: bool) -> float:
    """Cost of `shape` for the ornaments on the notes of a slice, 0 where there are none.

    Above and below are told for the real hand: in the mirrored left hand they change places.
    """
    total = 0.0
    for place, notes in enumerate(slice_.notes):
        kinds = {o.kind for n in notes for o in n.ornaments}
        if not kinds:
            continue
        for wanted, up in ((UPPER | BOTH, True), (LOWER | BOTH, False)):
            if kinds & wanted:
                total += _auxiliary(shape, place, above=up != left)
    return total


def _auxiliary(shape: tuple[int, ...], place: int, *, above: bool) -> float:
    """Cost of the best free finger for the neighbouring key above or below (as a right hand sees it)."""
    finger = shape[place]
    if above:
        end = shape[place + 1] if place + 1 < len(shape) else 6
        free = range(finger + 1, end)
    else:
        start = shape[place - 1] if place > 0 else 0
        free = range(start + 1, finger)
    return min((PAIR_COST[min(finger, g), max(finger, g)] for g in free), default=NO_FINGER)
