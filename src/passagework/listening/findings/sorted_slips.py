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
from passagework.listening.findings.losses import read_losses
from passagework.listening.findings.patterns import Pattern, left_over
from passagework.listening.findings.slips import Slip, pair_slips
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
    losses = read_losses(heard)
    misread = tuple(misreading.pick(heard, losses))
    told = frozenset((s.run, s.note.id) for p in misread for s in p.slips if s.note is not None)
    used = frozenset(s.played for p in misread for s in p.slips if s.played is not None)
    slips = pair_slips(heard, losses, told, used)
    rows: list[tuple[Pattern, ...]] = []
    for picker in (old_key, lapsed_accidental, forgotten_signature, dropped_note):
        found = tuple(picker.pick(heard, slips))
        slips = left_over(slips, found)
        rows.append(found)
    old, gone, unsigned, dropped = rows
    return SortedSlips(old, misread, gone, unsigned, dropped, slips)
