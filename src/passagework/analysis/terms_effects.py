"""What a phrase on the page does: the values that the parser of terms returns."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from passagework.analysis.lexicon import Dimension

Kind = Literal[
    "state", "change", "step", "restore", "keep", "scale", "free", "accent", "manner", "modifier",
]  # fmt: skip
"""How an effect acts.

``state`` holds from here, ``change`` is gradual, ``step`` is a comparison with what stood before,
``restore`` goes back to an earlier speed, ``keep`` keeps it, ``scale`` multiplies it, ``free`` leaves it to
the player, ``accent`` is one note's, ``manner`` says how to play, ``modifier`` is a word of degree alone.
"""


@dataclass(frozen=True, slots=True)
class Effect:
    """One effect of a phrase."""

    dimension: Dimension
    kind: Kind
    words: str
    """The words of the page it comes from."""
    meaning: str
    """Plain English."""
    language: str = ""
    direction: int = 0
    """+1 louder or faster, -1 softer or slower, 0 neither (or to be seen from what stood before)."""
    size: float = 1.0
    """Degree: 1 plain, 0.5 *poco*, 1.5 *molto*."""
    level: float | None = None
    """Loudness aimed at, in steps (3 is p, see `loudness_levels`)."""
    beats: tuple[float, float] | None = None
    """Usual range of the speed in beats a minute, slowest and fastest."""
    verb: str = ""
    """The lexicon's word for what it does: ``smooth``, ``soft``, ``tempo1`` ..."""
    factor: float = 1.0
    """For ``scale``: by how much the speed is multiplied."""
    gradual: bool = False
    always: bool = False
    sudden: bool = False
    negated: bool = False
    compared: bool = False
    """True for *più*, *meno* and their like: the effect depends on what stood before."""
    name: str = ""
    """The term's first spelling in the lexicon; ``""`` for words of degree alone."""
    sign_level: float | None = None
    """Level of the sign in a comparison: 6 in *meno f*, which does not ask for 6."""
    until: str = ""
    """What the page names as the end of a change: ``"pp"`` in *dim. al pp*."""


@dataclass(frozen=True, slots=True)
class Reading:
    """Another way to understand some words of the phrase."""

    words: str
    parts: tuple[Effect, ...]


@dataclass(frozen=True, slots=True)
class Apart:
    """Text that is no term: `kind` is ``metronome``, ``number``, ``jump``, ``heading``, ``credit``,
    ``chord``, ``sign`` (a music character), ``line`` (dashes) or ``other words`` (lyrics, remarks, titles).
    """

    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class Suggestion:
    """A near spelling for an unknown word: did the page mean `name`? Never used unasked."""

    word: str
    name: str
    meaning: str


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase as understood."""

    text: str
    language: str
    """Language of most of it, ``""`` where nothing was understood."""
    parts: tuple[Effect, ...]
    unknown: tuple[str, ...] = ()
    alternatives: tuple[Reading, ...] = ()
    suggestions: tuple[Suggestion, ...] = ()
    apart: tuple[Apart, ...] = ()

    def of(self, dimension: Dimension) -> tuple[Effect, ...]:
        """The parts that act on `dimension`."""
        return tuple(p for p in self.parts if p.dimension == dimension)
