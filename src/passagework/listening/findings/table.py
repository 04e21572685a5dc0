"""The one table of kinds of finding. Adding a kind is one module and one row here."""

from __future__ import annotations

from passagework.listening.findings import (
    articulation,
    balance,
    dropped_note,
    dynamics,
    evenness,
    extra_notes,
    forgotten_signature,
    hands_together,
    hesitation,
    lapsed_accidental,
    misreading,
    missing_notes,
    old_key,
    pedal,
    polyrhythm,
    proportions,
    rushing,
    stops,
    tempo,
    wrong_notes,
)
from passagework.listening.findings.kinds import FindingKind

FINDING_KINDS: tuple[FindingKind, ...] = (
    wrong_notes.KIND,
    missing_notes.KIND,
    extra_notes.KIND,
    old_key.KIND,
    lapsed_accidental.KIND,
    forgotten_signature.KIND,
    misreading.KIND,
    dropped_note.KIND,
    hesitation.KIND,
    stops.KIND,
    tempo.KIND,
    rushing.KIND,
    proportions.KIND,
    polyrhythm.KIND,
    hands_together.KIND,
    evenness.KIND,
    balance.KIND,
    dynamics.KIND,
    articulation.KIND,
    pedal.KIND,
)


def all_finding_kinds() -> tuple[FindingKind, ...]:
    """Every kind, in the order in which rows are shown."""
    return FINDING_KINDS
