"""How sure a spot is: as sure as what it was told from.

A distance or a rhythm is read off the page; a chord's name, the tune and the hand that takes a note are judgements that
carry a confidence of their own. A spot is no surer than the least sure of those that its kind rests on.
"""

from __future__ import annotations

from typing import Final

from passagework.spots.context import Context
from passagework.spots.spot import Spot

BY_HARMONY: Final = frozenset({"harmony"})
"""Kinds that rest on the names of chords."""
BY_TUNE: Final = frozenset({"balance", "tune-between-hands"})
"""Kinds that rest on which notes are the tune."""

SURE, FAIRLY = 0.85, 0.6
"""Confidence from which a judgement is called sure, and fairly sure; below it says that it is a guess."""


def how_sure(spot: Spot, context: Context) -> tuple[float, str]:
    """Confidence, 0 to 1, and a sentence."""
    reasons = [(_hands(spot, context), "which hand takes the notes")]
    if spot.kind in BY_HARMONY:
        reasons.append((_harmony(spot, context), "the names of the chords"))
    if spot.kind in BY_TUNE:
        reasons.append((_tune(spot, context), "which notes are the tune"))
    value, about = min(reasons)
    if value >= SURE:
        return round(value, 3), "Sure: read off the page."
    if value >= FAIRLY:
        return round(value, 3), f"Fairly sure ({value:.0%}): it hangs on {about}."
    return round(value, 3), f"A guess ({value:.0%}): {about} cannot be told for certain."


def _hands(spot: Spot, context: Context) -> float:
    by_id = context.piece.by_id
    known = [by_id[i].hand_sure for i in spot.focus.note_ids if i in by_id]
    return sum(known) / len(known) if known else 1.0


def _harmony(spot: Spot, context: Context) -> float:
    bars = context.piece.bars
    low, high = bars[spot.focus.first_bar].onset, bars[spot.focus.last_bar].end
    here = [
        c.confidence
        for c in context.harmony.chords
        if c.onset < high and c.onset + c.duration > low
    ]
    return min(here, default=1.0)


def _tune(spot: Spot, context: Context) -> float:
    ids = set(spot.focus.note_ids)
    bars = context.piece.bars
    low, high = bars[spot.focus.first_bar].onset, bars[spot.focus.last_bar].end
    spans = [s for s in context.tune.line if ids & set(s.note_ids)]
    spans = spans or [s for s in context.tune.line if s.onset < high and s.end > low]
    return min((s.confidence for s in spans), default=1.0)
