"""What there is to learn in a piece, as plain values: the input of the plan.

`passagework.teaching.work_of` makes it from a piece that was read; here is nothing that needs the music itself, so that a
plan can be kept, compared and made again without it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from passagework.spots.spot import SpotHand


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of an exercise, in words."""

    title: str
    instruction: str
    done_when: str
    tempo: str = ""
    """``"crotchet = 60"``."""


@dataclass(frozen=True, slots=True)
class PlanExercise:
    """An exercise for a spot, in words; the music of its steps is made again from its technique when it is printed."""

    technique: str
    title: str
    why: str
    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    steps: tuple[PlanStep, ...]


@dataclass(frozen=True, slots=True)
class PlanSpot:
    """A spot to be practised."""

    id: str
    kind: str
    title: str
    where: str
    """Its bars in words: ``"bars 5 and 6"``."""
    bars: tuple[int, ...]
    """Indices of all bars it covers."""
    severity: float
    """0 to 1, relative to the piece's level (`passagework.spots.spot`)."""
    importance: float
    """What a teacher would begin with: the hard, and of equally hard places the one that returns."""
    demand: float
    """How hard it is, 0 to 1 on the scale that is the same for all pieces (`KindDemand.hardest`)."""
    seconds: float
    """Seconds that the bars to practise take at full tempo, above 0."""
    places: int = 1
    """How often its material stands in the piece."""
    hand: SpotHand = "both"
    done_when: str = ""
    exercises: tuple[PlanExercise, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanSection:
    """A section to be learned."""

    label: str
    """``"A"``, ``"B"``, ``"A'"``."""
    where: str
    first_bar: int
    """Bar indices, both included."""
    last_bar: int
    seconds: float
    """Seconds that it takes at full tempo, above 0."""
    likeness: float = 0.0
    """Share of its bars that are known from an earlier section, 0 to 1."""
    tempo: str = ""
    """Its tempo in words, and the one at which it is first played with both hands: ``"crotchet = 96"``."""
    slow_tempo: str = ""

    @property
    def bars(self) -> range:
        """Indices of its bars."""
        return range(self.first_bar, self.last_bar + 1)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the piece asks of one kind: how hard at its hardest, and the share of the bars that hold it."""

    hardest: float
    share: float


@dataclass(frozen=True)
class PieceWork:
    """A piece to be learned, and by when."""

    piece_id: str
    title: str
    seconds: float
    """Seconds for playing it through once, repeats taken, above 0."""
    sections: tuple[PlanSection, ...]
    spots: tuple[PlanSpot, ...]
    asked: Mapping[str, Asked] = field(default_factory=dict)
    """Kind by kind, for those that occur."""
    performance: date | None = None
    """When it is to be played; None where no day is set."""
    by_heart: bool = True
    """Whether it is to be learned by heart."""

    def __post_init__(self) -> None:
        lengths = [
            self.seconds,
            *(s.seconds for s in self.sections),
            *(s.seconds for s in self.spots),
        ]
        if min(lengths) <= 0:
            raise ValueError(f"{self.title}: playing takes more than no time")
        ids = [s.id for s in self.spots]
        if len(set(ids)) < len(ids):
            raise ValueError(f"{self.title}: two spots have one id")
