"""How far the hand must open: the kind ``stretch`` on a scale on which a smaller hand is never better off.

The spots ask what one student will do about a chord: one that is far too wide is divided without much thought, and a bass that is
out of reach is let go. Here the same widths are compared with the hand, and what is out of reach is as hard as the widest that is
still tried. Milder ones (rolled by a sign, held by a marked pedal) are discounted as in `passagework.spots.stretch`.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import exp

from passagework.demands.grid import Grid
from passagework.hands.hand import LARGE
from passagework.hands.keyboard import key_mm
from passagework.score.piece import Note
from passagework.spots.context import Attack
from passagework.spots.severity import severity
from passagework.spots.spot import Candidate
from passagework.spots.stretch import (
    BENT,
    BEYOND_SHARE,
    DIVIDED,
    MOST,
    PEDALLED_SHARE,
    ROLLED_SHARE,
)

WIDEST_HELD_MM = LARGE.largest_mm * BEYOND_SHARE
"""A held note farther away than this is out of reach for a large hand too, and meant for the pedal."""

Held = tuple[int, float, Note]
"""Tick of release, place on the keyboard in mm, and the note."""


def openings(grid: Grid) -> Iterable[Candidate]:
    """An occurrence for each attack at which a hand is open beyond comfort. Severity does not depend on any level."""
    context = grid.context
    comfort = context.hand.comfortable_mm
    ticks = context.piece.ticks
    for row in grid.hands:
        held: list[Held] = []
        for strike in row:
            attack = strike.attack
            low, high = key_mm(attack.midis[0]), key_mm(attack.midis[-1])
            held = [h for h in held if h[0] > attack.tick]
            wider = [
                h for h in held if comfort < max(high, h[1]) - min(low, h[1]) <= WIDEST_HELD_MM
            ]
            if high - low > comfort:
                yield _occurrence(grid, attack, high - low, None)
            for _, place, note in wider:
                yield _occurrence(grid, attack, max(high, place) - min(low, place), note)
            held += [(attack.tick + ticks(n.duration), key_mm(n.midi), n) for n in attack.notes]


def _occurrence(grid: Grid, attack: Attack, mm: float, held: Note | None) -> Candidate:
    context = grid.context
    comfort, largest = context.hand.comfortable_mm, context.hand.largest_mm
    tried = largest * (DIVIDED if held is None else BEYOND_SHARE)
    value = _bent(severity(min(mm, tried), comfort, largest))
    if held is None and any(n.arpeggio in {"up", "down"} for n in attack.notes):
        value *= ROLLED_SHARE
    if held is not None and context.pedalled(held.onset, min(held.end, attack.onset + 1)):
        value *= PEDALLED_SHARE
    ids = attack.ids if held is None else (held.id, *attack.ids)
    family = "chord" if held is None else "held"
    return Candidate(attack.bar, attack.bar, attack.side, ids, value, family, {"mm": mm})


def _bent(value: float) -> float:
    """`value`, beyond `BENT` drawn in towards `MOST`: what cannot be reached is changed, not practised for years."""
    room = MOST - BENT
    return value if value <= BENT else MOST - room * exp(-(value - BENT) / room)
