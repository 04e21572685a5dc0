"""What a piece demands of a hand: one number or few for each kind of difficulty, and plain descriptors."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

PROFILE_VERSION = 1
"""Raised whenever a number of the profile changes its meaning; stored profiles of another version are measured anew."""


@dataclass(frozen=True, slots=True)
class KindDemand:
    """What a piece demands of one kind of difficulty."""

    kind: str
    """Name of the kind (`passagework.spots.table`)."""
    hardest: float
    """How hard it is at its hardest, 0 to 1 on a scale that is the same for all pieces; 0 where the kind does not occur."""
    typical: float
    """How hard its occurrences are on the median, on the same scale."""
    share: float
    """Share of the bars that hold it, 0 to 1."""
    per_minute: float
    """Occurrences in a minute of playing."""
    bars: tuple[int, ...]
    """Indices of the bars that hold the hardest occurrences, hardest first, a few at most."""


@dataclass(frozen=True)
class Demands:
    """The demand profile of a piece for a hand."""

    version: int
    reach_cm: float
    kinds: Mapping[str, KindDemand]
    """A row for every kind of the table; where the dear kinds were left out (`measure_demands`), for every other kind."""
    descriptors: Mapping[str, float]
    """Plain numbers by name; `passagework.demands.descriptors` states unit and source of each."""
    descriptor_bars: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    """Indices of the bars that hold the most of a descriptor, most first, where it stands in bars."""
