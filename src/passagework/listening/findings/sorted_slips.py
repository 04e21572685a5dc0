"""The slips of a take sorted by cause, the most telling cause first."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.listening.findings import (
    dropped_note,
    forgotten_signature,
    lapsed_accidental,
    misreading,
    old_key,
)
from passagework.listening.findings.patterns import Pattern, left_over
from passagework.listening.findings.slips import Slip, read_slips
from passagework.listening.heard import Heard


@dataclass(frozen=True)
class SortedSlips:
    """Every slip once: in the pattern that explains it, or single."""

    old_key: tuple[Pattern, ...]
    misread: tuple[Pattern, ...]
    lapsed: tuple[Pattern, ...]
    unsigned: tuple[Pattern, ...]
    dropped: tuple[Pattern, ...]
    single: tuple[Slip, ...]


def sort_slips(heard: Heard) -> SortedSlips:
    """Sort the slips of a take. A misreading explains a whole row and is looked for first."""
    slips = read_slips(heard)
    rows: list[tuple[Pattern, ...]] = []
    for picker in (misreading, old_key, lapsed_accidental, forgotten_signature, dropped_note):
        found = tuple(picker.pick(heard, slips))
        slips = left_over(slips, found)
        rows.append(found)
    misread, old, gone, unsigned, dropped = rows
    return SortedSlips(old, misread, gone, unsigned, dropped, slips)
