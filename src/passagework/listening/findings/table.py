"""The one table of kinds of finding. Adding a kind is one module and one row here."""

from __future__ import annotations

from passagework.listening.findings.kinds import FindingKind

FINDING_KINDS: tuple[FindingKind, ...] = ()


def all_finding_kinds() -> tuple[FindingKind, ...]:
    """Every kind, in the order in which rows are shown."""
    return FINDING_KINDS
