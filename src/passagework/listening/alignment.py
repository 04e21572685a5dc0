"""Which written note each played note is: the result of `passagework.listening.align.align`.

Conventions
-----------
* A *pass* is one way forward through the bars: it ends where the player goes back, skips or stops for good. A written
  repeat that is taken begins a new pass, and so does a restart. Passes are in order of time.
* A note of the score may be matched once in each pass, a played note once at all.
* *Missing* are the notes of a pass (between its first and its last matched note, in the hands that played) that were not
  struck. *Extra* are played notes that are no written note's. A *substitution* pairs a missing note with the extra one that was
  most likely meant for it (a neighbouring key, another octave, the old key's accidental); both stay in their lists.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

PassHand = Literal["left", "right", "both"]


@dataclass(frozen=True, slots=True)
class Match:
    """A written note and the stroke that played it."""

    note: str
    """Id of the `Note`."""
    played: int
    """Index in `Take.notes`."""
    run: int
    """Index of the pass."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A written note that a pass left out."""

    note: str
    run: int


@dataclass(frozen=True, slots=True)
class Substitution:
    """A key struck in another's place."""

    note: str
    """Id of the written note (it is among the missing)."""
    played: int
    """Index of the stroke (it is among the extra)."""
    run: int


@dataclass(frozen=True, slots=True)
class Pass:
    """One way forward through the bars."""

    first_bar: int
    """Bar indices of the first and last matched notes."""
    last_bar: int
    start: float
    """Seconds: the first matched onset and the last matched release."""
    end: float
    hand: PassHand = "both"
    """Which hands played."""


@dataclass(frozen=True)
class Alignment:
    """A take laid along a piece."""

    matches: tuple[Match, ...]
    """In order of `played`."""
    missing: tuple[Missing, ...]
    extra: tuple[int, ...]
    substitutions: tuple[Substitution, ...]
    passes: tuple[Pass, ...]
    fit: float
    """Share of the played notes that are matched, 0 to 1: low for a take of another piece."""
    ornamental: tuple[int, ...] = ()
    """Strokes that play out an ornament of the page (of a trill, turn or tremolo all but the one that is matched); they are not
    extra, and count as matched in `fit`."""

    @cached_property
    def by_pass(self) -> tuple[tuple[Match, ...], ...]:
        """The matches of each pass, in order of `played`."""
        rows: list[list[Match]] = [[] for _ in self.passes]
        for match in self.matches:
            rows[match.run].append(match)
        return tuple(tuple(row) for row in rows)
