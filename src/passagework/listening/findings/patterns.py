"""Slips that have something in common, pass by pass and then over all passes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from passagework.listening.findings.slips import Slip
from passagework.spots.spot import SpotHand


@dataclass(frozen=True, slots=True)
class Pattern:
    """Slips of one cause."""

    key: str
    """What they have in common: a letter, a number of steps, a place in the chord."""
    slips: tuple[Slip, ...]
    of: int
    """Notes in those bars that could have gone the same way, the slips included."""

    @property
    def first_bar(self) -> int:
        """Index of its first bar."""
        return min(s.bar for s in self.slips)

    @property
    def last_bar(self) -> int:
        """Index of its last bar."""
        return max(s.bar for s in self.slips)

    @property
    def runs(self) -> tuple[int, ...]:
        """The passes in which it was heard."""
        return tuple(sorted({s.run for s in self.slips}))

    @property
    def note_ids(self) -> tuple[str, ...]:
        """The written notes concerned, in order."""
        notes = {s.note.id: s.note for s in self.slips if s.note is not None}
        return tuple(sorted(notes, key=lambda i: (notes[i].onset, notes[i].midi)))

    @property
    def played(self) -> tuple[int, ...]:
        """Indices of the strokes concerned."""
        return tuple(sorted(s.played for s in self.slips if s.played is not None))

    @property
    def hand(self) -> SpotHand:
        """The hand that it is in."""
        hands = {s.hand for s in self.slips}
        return hands.pop() if len(hands) == 1 else "both"

    @property
    def sure(self) -> float:
        """How well its places were recognised, 0 to 1."""
        return sum(s.sure for s in self.slips) / len(self.slips)


def over_passes(patterns: Iterable[Pattern]) -> list[Pattern]:
    """`patterns` with those of one key and hand whose bars overlap joined, in order of their first bar."""
    rows: dict[tuple[str, SpotHand], list[Pattern]] = {}
    for pattern in sorted(patterns, key=lambda p: p.first_bar):
        row = rows.setdefault((pattern.key, pattern.hand), [])
        if row and pattern.first_bar <= row[-1].last_bar:
            last = row[-1]
            row[-1] = replace(last, slips=last.slips + pattern.slips, of=last.of + pattern.of)
        else:
            row.append(pattern)
    return sorted((p for row in rows.values() for p in row), key=lambda p: p.first_bar)


def heaviest_runs(scores: Sequence[float]) -> list[tuple[int, int]]:
    """Stretches (first and last place, both included) of `scores` that sum to most: a stretch begins where the sum before it
    has fallen to nothing, and ends at its top. Linear.
    """
    found: list[tuple[int, int]] = []
    start, total, best, end = 0, 0.0, 0.0, -1
    for k, score in enumerate(scores):
        total += score
        if total > best:
            best, end = total, k
        if total <= 0.0 or total < best - DROP:
            if best > 0.0:
                found.append((start, end))
            start, total, best, end = k + 1, 0.0, 0.0, k
    if best > 0.0:
        found.append((start, end))
    return found


DROP = 3.0
"""A stretch is over where its sum has fallen so far below its top: so many notes played right."""


def left_over(slips: Sequence[Slip], patterns: Iterable[Pattern]) -> tuple[Slip, ...]:
    """`slips` without those that `patterns` explain."""
    told = {s for p in patterns for s in p.slips}
    return tuple(s for s in slips if s not in told)
