"""Where a demand stands between first-year music and concert music, and what each demand counts for before anything is graded.

The *standing* of a demand is 0 at what a piece for the first year asks and 1 at what a concert piece asks, between and beyond them
in the logarithm: the step from none to a little is long and from much to more short, as it is for the student. It rises with the
demand everywhere, so nothing is capped.

The two ends are what was counted in first-year and in concert pieces. The weights are our judgement, guided by the order in which
the descriptors matter in the research that `passagework.demands.descriptors` names: speed, how the hands go together, how much is
new from note to note, and how far the hands move count most, length counts little.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, log

OFFSET = 0.05
"""Share of the concert end that is added before the logarithm is taken, beside the first-year end: so a demand that is not there
at all has a standing too."""


@dataclass(frozen=True, slots=True)
class Part:
    """One demand's part in the level."""

    name: str
    """Name of a rising descriptor."""
    family: str
    """Demands of one family say nearly the same; of each only one is given as a reason."""
    first_year: float
    concert: float
    """What first-year and concert pieces ask, in the unit of the descriptor."""
    weight: float
    """What it counts for before anything is graded; together 1."""

    def standing(self, value: float) -> float:
        """Where `value` stands: 0 at `first_year`, 1 at `concert`."""
        offset = self.first_year + OFFSET * self.concert
        low = log(self.first_year + offset)
        return (log(max(value, 0.0) + offset) - low) / (log(self.concert + offset) - low)

    def value_at(self, standing: float) -> float:
        """The value that stands there, 0 where none does."""
        offset = self.first_year + OFFSET * self.concert
        low, high = log(self.first_year + offset), log(self.concert + offset)
        return max(exp(low + standing * (high - low)) - offset, 0.0)


PARTS: tuple[Part, ...] = (
    Part("speed_busier", "speed", 1.0, 8.0, 0.05),
    Part("speed_other", "speed", 0.6, 6.0, 0.05),
    Part("burst_busier", "speed", 1.2, 9.0, 0.05),
    Part("added_notes", "chords", 0.0, 8.0, 0.04),
    Part("octaves", "chords", 0.0, 4.0, 0.03),
    Part("span", "width", 0.0, 1.3, 0.04),
    Part("travel_busier", "travel", 0.3, 25.0, 0.05),
    Part("travel_other", "travel", 0.0, 14.0, 0.05),
    Part("held_notes", "voices", 0.0, 6.0, 0.05),
    Part("together", "hands", 0.6, 8.0, 0.07),
    Part("divisions", "rhythm", 0.3, 4.0, 0.04),
    Part("off_beat", "rhythm", 0.0, 1.5, 0.03),
    Part("figures", "rhythm", 4.0, 45.0, 0.04),
    Part("metre_changes", "metre", 0.0, 6.0, 0.01),
    Part("places_busier", "notes", 6.0, 28.0, 0.04),
    Part("places_other", "notes", 5.0, 24.0, 0.04),
    Part("compass", "range", 11.0, 40.0, 0.03),
    Part("successions_busier", "figures", 15.0, 400.0, 0.05),
    Part("successions_other", "figures", 8.0, 280.0, 0.05),
    Part("sonorities", "sonorities", 6.0, 280.0, 0.04),
    Part("altered", "accidentals", 0.1, 7.0, 0.05),
    Part("signature", "signature", 0.0, 5.0, 0.02),
    Part("reading", "reading", 0.5, 12.0, 0.03),
    Part("small_notes", "ornaments", 0.0, 3.0, 0.02),
    Part("notes", "length", 50.0, 2000.0, 0.02),
    Part("bars", "length", 10.0, 150.0, 0.01),
)


def standings(descriptors: Mapping[str, float]) -> tuple[float, ...]:
    """The standing of every demand of `PARTS`. Raises `KeyError` where one was not measured."""
    return tuple(part.standing(descriptors[part.name]) for part in PARTS)


def ungraded_score(descriptors: Mapping[str, float]) -> float:
    """Place of a piece where nothing is graded: 0 first year, 100 concert music, beyond both where it is."""
    rows = zip(PARTS, standings(descriptors), strict=True)
    return 100.0 * sum(part.weight * standing for part, standing in rows)
