"""A finding: one thing that a take shows, with the measured numbers that say so."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.spots.spot import Evidence, SpotHand


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing a teacher would remark on."""

    kind: str
    """Name of its row in `passagework.listening.findings.table`: ``"wrong-notes"``, ``"hesitation"`` ..."""
    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    hand: SpotHand
    note_ids: tuple[str, ...]
    """Ids of the written notes concerned, in order."""
    measure: tuple[Evidence, ...]
    """What was measured, with units and the source of the rule; never empty."""
    reason: str
    """One or two plain sentences with the numbers in them."""
    advice: str
    """What to do next, a sentence for the student."""
    confidence: float
    """How sure, 0 to 1."""
    weight: float
    """How much it matters, 0 to 1: what to say first. A habit that returns weighs more than a single slip."""
    runs: tuple[int, ...] = ()
    """Indices of the passes in which it was heard."""
    played: tuple[int, ...] = ()
    """Indices of the strokes concerned, to ring them."""
    spot_kinds: tuple[str, ...] = ()
    """Kinds of difficulty (`passagework.spots.table`) whose exercises help; the first fits best."""
