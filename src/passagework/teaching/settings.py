"""The planning values that a teacher may change, in one place, each with where it comes from.

Where no source is named, the value is a planning value of ours: a place to begin, to be set right by experience.
"""

from __future__ import annotations

from dataclasses import dataclass

from passagework.demands.stones import STEP

LAST_WEEK_DAYS = 7
"""Days before a performance that are for playing through and for what comes back; nothing new."""

GAPS = (1, 2, 4, 7, 14, 21, 30)
"""Days from one practice of a place to the next, at least: they grow with every time that it went well (spread practice
beats massed practice: Cepeda, Pashler, Vul, Wixted and Rohrer, 2006)."""

GAP_SHARE = 0.2
"""No gap is longer than this share of the days left to the performance: what is to be kept for a time is best met
again after 10 to 20 percent of it (Cepeda, Vul, Rohrer, Wixted and Pashler, 2008)."""

HALF_LIFE_DAYS = 365
"""Days after which evidence of a skill is half as sure: without practice, a year takes about one standard deviation
from a skill (Arthur, Bennett, Stanush and McNelly, 1998)."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer of learning a section: how often its music is played, how slowly, and how often it comes back."""

    name: str
    """``hands``, ``together``, ``tempo``, ``memory`` or ``polish``."""
    times: float
    """How often the section is played until the layer stands."""
    tempo: float
    """At which share of the tempo, on average."""
    reviews: int
    """How often it comes back before it is safe."""


LAYERS = (
    Layer("hands", 8.0, 0.5, 1),
    Layer("together", 8.0, 0.5, 2),
    Layer("tempo", 8.0, 0.8, 2),
    Layer("memory", 6.0, 0.9, 2),
    Layer("polish", 4.0, 1.0, 1),
)
"""In order. In the hands' layer each hand plays four times."""


@dataclass(frozen=True, slots=True)
class Settings:
    """The planning values of one studio or one student."""

    step: float = STEP
    """How much harder than what is secure a kind of difficulty may be and still be one step up."""
    last_week_days: int = LAST_WEEK_DAYS
    gaps: tuple[int, ...] = GAPS
    gap_share: float = GAP_SHARE
    half_life_days: int = HALF_LIFE_DAYS
    layers: tuple[Layer, ...] = LAYERS
    spot_times: int = 8
    """How often the place is played in each step of an exercise: three times in a row rarely come at the first trial."""
    spot_steps: int = 4
    """Steps to a spot whose exercise is not known."""
    think_share: float = 0.5
    """Time to look, to think and to let go of the keys, as a share of the time that is played."""
    return_share: float = 0.25
    """What every place where a spot's material comes back adds to the first one."""
    fewest_reviews: int = 2
    most_reviews: int = 6
    """How often a spot of severity 0 and of severity 1 comes back."""
    shortest_minutes: int | None = None
    """No practice of one thing is shorter; None to go by the age."""
    longest_minutes: int | None = None
    """Minutes that one thing holds the attention; None to go by the age."""
    new_a_day: int | None = None
    """Things begun on one day, at most; None to go by the age."""
    open_days: int = 56
    """Days that are planned for a piece without a performance date."""
    easier: float = 0.5
    """Share of the minutes that something takes which lies two steps below what is secure."""
    harder: float = 0.5
    """What each step above what is secure adds to the minutes."""

    def __post_init__(self) -> None:
        if self.step <= 0 or not self.gaps or min(self.gaps) < 1:
            raise ValueError("a step must be above 0, and a gap at least a day")
        if list(self.gaps) != sorted(self.gaps):
            raise ValueError("gaps grow from one practice to the next")
        if (self.shortest_minutes or 1) < 1 or self.fewest_reviews > self.most_reviews:
            raise ValueError(
                "practice takes a minute at least, and hard places come back most often"
            )
        if not 0 < self.easier <= 1 or self.harder < 0 or not 0 < self.gap_share <= 1:
            raise ValueError("shares lie between 0 and 1")
