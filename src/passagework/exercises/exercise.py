"""What the room gives: an exercise of steps, and the technique that makes it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from passagework.score.notation import Notation

if TYPE_CHECKING:
    from passagework.exercises.passage import Passage
    from passagework.exercises.study import Study


class DoesNotFitError(ValueError):
    """A technique cannot be made of this passage: nothing to untie, no value that could print it."""


@dataclass(frozen=True, slots=True)
class Tempo:
    """How fast: `per_minute` beats of `beat` quarters each."""

    beat: Fraction
    per_minute: float

    @property
    def quarters_per_minute(self) -> float:
        """The same in quarters."""
        return float(self.beat) * self.per_minute


@dataclass(frozen=True)
class Step:
    """One step of an exercise: what to play, how fast, and when it is done."""

    title: str
    instruction: str
    """A sentence for the student."""
    notation: Notation
    tempo: Tempo
    done_when: str
    """A test that the student can apply alone."""
    grey: frozenset[str] = frozenset()
    """Ids of notes that are engraved grey and not played."""
    repeat: int = 1
    """How often it is played in a row."""


@dataclass(frozen=True)
class Exercise:
    """Steps that cure one passage by one technique. The last step is the passage as written."""

    id: str
    technique: str
    """Name of the technique in the table."""
    title: str
    why: str
    """Why this technique for this passage, from its evidence."""
    first_bar: int
    """Indices of the piece's bars, both included."""
    last_bar: int
    steps: tuple[Step, ...]
    spot_id: str = ""
    """The spot it is for; empty for bars that the teacher chose."""


@dataclass(frozen=True, slots=True)
class Technique:
    """A practice technique: whether it fits a passage, and the exercise it makes of it."""

    name: str
    """Lower case, hyphens: its name in JSON and on the command line."""
    title: str
    applies: Callable[[Passage, Study], float]
    """How well it fits, 0 (not at all) to 1."""
    build: Callable[[Passage, Study], Exercise]
    """The exercise. Raises `DoesNotFitError` where a step could not be written."""
