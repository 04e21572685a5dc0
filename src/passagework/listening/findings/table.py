"""The one table of kinds of finding. Adding a kind is one module and one row here."""

from __future__ import annotations

from passagework.listening.findings import (
    dropped_note,
    extra_notes,
    forgotten_signature,
    lapsed_accidental,
    misreading,
    missing_notes,
    old_key,
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
)


def all_finding_kinds() -> tuple[FindingKind, ...]:
    """Every kind, in the order in which rows are shown."""
    return FINDING_KINDS
