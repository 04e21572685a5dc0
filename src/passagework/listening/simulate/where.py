"""Where a fault bites: which strokes lie in its bars, its pass and its hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.listening.simulate.faults import Fault
from passagework.listening.simulate.strike import Strike
from passagework.score.piece import Side


@dataclass(frozen=True, slots=True)
class Bitten:
    """A fault as it was carried out in one pass."""

    fault: Fault
    first_bar: int
    last_bar: int
    notes: tuple[str, ...]
    run: int


def inside(
    strikes: Sequence[Strike], first_bar: int, last_bar: int, hand: str = "both"
) -> list[Strike]:
    """Strokes of sounding, wanted notes in those bars and that hand."""
    return [
        s
        for s in strikes
        if first_bar <= s.note.bar <= last_bar and s.sounds and s.meant and hand in ("both", s.hand)
    ]


def bitten(fault: Fault, strikes: Sequence[Strike], run: int) -> list[Bitten]:
    """What `fault` did to `strikes`; empty where it found none."""
    if not strikes:
        return []
    bars = [s.note.bar for s in strikes]
    notes = tuple(dict.fromkeys(s.note.id for s in strikes))
    return [Bitten(fault, min(bars), max(bars), notes, run)]


def other(side: Side) -> Side:
    """The other hand."""
    return "left" if side == "right" else "right"
