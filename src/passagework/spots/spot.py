"""A spot: a place where one kind of difficulty bites, with the evidence for saying so.

Severity
--------
One scale for every kind, 0 to 1, relative to the level that the piece is for
(`passagework.spots.level`): 0 is nothing out of the ordinary, 0.5 is a place that a student of that
level must practise on purpose, 0.75 one that will take several weeks or a change of the text for
some hands, 1 the hardest thing of its kind in print. `passagework.spots.severity` holds the one
function that turns a measured number into it.

From detector to list
---------------------
A detector yields `Candidate`s: one event, chord, figure or run each, no longer than a few bars.
`passagework.spots.find` joins neighbours of one kind, hand and family to a `Spot`, puts the places
where the same material comes back into the same spot, asks the kind for words, and ranks.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

SpotHand = Literal["left", "right", "both"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """One measured number (or a counted fact) with its unit and the source of the rule it serves."""

    name: str
    """What was measured, in words: ``"distance"``, ``"time from release to attack"``."""
    value: float | int | str
    unit: str = ""
    """``mm``, ``s``, ``notes/s``, ``bits``; empty for a count or a ratio such as ``"3:2"``."""
    source: str = ""
    """Author and year of the paper, or the rule in a few words; empty for plain counting."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One occurrence of a difficulty, as a detector finds it."""

    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    hand: SpotHand
    note_ids: tuple[str, ...]
    """Ids of the notes concerned, in order; never empty."""
    severity: float
    family: str = ""
    """Candidates are joined only within a family: ``"3:2"`` of the polyrhythms, ``"thirds"`` ..."""
    numbers: dict[str, float] = field(default_factory=dict)
    """The measured numbers, by a name that the kind's `describe` knows."""
    facts: dict[str, str] = field(default_factory=dict)
    """Other facts for the words: note names, ratios, marks."""
    shift: int = 0
    """Staff steps by which its material stands above (below: negative) where it was met first."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where a spot stands once: bars (indices, both included) and its notes."""

    first_bar: int
    last_bar: int
    note_ids: tuple[str, ...]
    severity: float


@dataclass(frozen=True, slots=True)
class Wording:
    """What to say about a spot. Every sentence is made from measured facts."""

    title: str
    """A few words, as a teacher would head it: ``"Five against three"``."""
    reason: str
    """What and why, with the numbers: one or two sentences."""
    goes_wrong: str
    """What usually happens to students here."""
    try_: tuple[str, ...]
    """Two to four things to try, in order, each a sentence for the student."""
    done_when: str
    """A test that the student can apply alone, with its own tempo and bars."""
    evidence: tuple[Evidence, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """A spot of the piece."""

    id: str
    """Stable for the same notes: the kind and the first note of its worst place."""
    kind: str
    hand: SpotHand
    severity: float
    places: tuple[Place, ...]
    """Where it stands, in order of the piece; neighbours joined, returns of the material added."""
    focus: Place
    """The worst of it, short enough for an excerpt: what to engrave and to ring."""
    wording: Wording
    family: str = ""
    rank: int = 0
    """1 for what a teacher would mention first; 0 for a spot that is not in the short list."""

    @property
    def first_bar(self) -> int:
        """First bar of the place that holds the worst."""
        return self._main.first_bar

    @property
    def last_bar(self) -> int:
        """Last bar of the place that holds the worst."""
        return self._main.last_bar

    @property
    def note_ids(self) -> tuple[str, ...]:
        """Notes of every place, in order."""
        return tuple(dict.fromkeys(i for place in self.places for i in place.note_ids))

    @property
    def bars(self) -> tuple[int, ...]:
        """Indices of all bars it covers."""
        return tuple(sorted({b for p in self.places for b in range(p.first_bar, p.last_bar + 1)}))

    @property
    def _main(self) -> Place:
        focus = self.focus
        return next(
            p
            for p in self.places
            if p.first_bar <= focus.first_bar and focus.last_bar <= p.last_bar
        )
