"""A student's two hands: how far each reaches, finger pair by finger pair, and which fingers rest.

Lengths are measured tip to tip, in centimetres, as a teacher measures them (`passagework.hands.care`
says how); what follows from them for keys is in millimetres from key centre to key centre.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

from passagework.hands.keyboard import OCTAVE_MM
from passagework.score.piece import Side

FINGERTIP_MM = 12.0
"""A key is played near its edge by thumb and little finger: the span of a hand measured from tip to
tip reaches about half a fingertip less at either side, in millimetres together."""

DEFAULT_REACH_CM = 20.1
"""Mean span of adult women (Boyle, Boyle and Booker, 2015): the larger group of piano students, and
the safer assumption for the rest."""

COMFORTABLE_SHARE = 0.9
"""Share of the largest span at which a hand stays supple at speed."""

SMALLEST_REACH_CM, LARGEST_REACH_CM = 10.0, 32.0
"""What is believed of a measurement: a small child's hand to the largest hands on record."""

SEMITONE_MM = OCTAVE_MM / 12
"""A semitone on average, to turn published spans in semitones into millimetres."""

FINGER_PAIRS = tuple(combinations(range(1, 6), 2))
"""The ten pairs of fingers, the lower number (nearer the thumb) first."""

LARGEST_SEMITONES = {
    (1, 2): 10, (1, 3): 12, (1, 4): 14, (1, 5): 15, (2, 3): 5,
    (2, 4): 7, (2, 5): 10, (3, 4): 4, (3, 5): 7, (4, 5): 5,
}  # fmt: skip
"""Largest practical span of each pair, for a large hand, in semitones
(Parncutt, Sloboda, Clarke, Raekallio and Desain, 1997, table 1: "MaxPrac")."""

CHORD_ALLOWANCE = 1.1
"""The table is for fingers that play on; struck together, the long fingers lie flatter and open a
little wider. A tenth lets every hand that spans an octave take the octave with a third inside it."""

COMFORTABLE_SEMITONES = {
    (1, 2): 8, (1, 3): 10, (1, 4): 12, (1, 5): 13, (2, 3): 3,
    (2, 4): 5, (2, 5): 8, (3, 4): 2, (3, 5): 5, (4, 5): 3,
}  # fmt: skip
"""The same table's "MaxComf"."""


@dataclass(frozen=True, slots=True)
class Hand:
    """Reach from thumb to little finger, stretched without strain, measured tip to tip.

    Raises `ValueError` for a reach that no hand has, or a pair or finger that does not exist.
    """

    reach_cm: float = DEFAULT_REACH_CM
    comfortable_cm: float | None = None
    """Reach at which this hand stays supple; None to take nine tenths of the largest."""
    pair_cm: tuple[tuple[int, int, float], ...] = ()
    """Largest span of single pairs where it was measured: ``(2, 5, 14.5)``."""
    weak: frozenset[int] = frozenset()
    """Fingers to be spared."""
    resting: frozenset[int] = frozenset()
    """Fingers that must not play (a plaster, an injury)."""

    def __post_init__(self) -> None:
        if not SMALLEST_REACH_CM <= self.reach_cm <= LARGEST_REACH_CM:
            raise ValueError(
                f"a reach of {self.reach_cm:g} cm is not believable; measure from the tip of the thumb "
                f"to the tip of the little finger ({SMALLEST_REACH_CM:g} to {LARGEST_REACH_CM:g} cm)"
            )
        if self.comfortable_cm is not None and not 0 < self.comfortable_cm <= self.reach_cm:
            raise ValueError("the comfortable reach must lie between 0 and the largest one")
        for low, high, span in self.pair_cm:
            if (low, high) not in FINGER_PAIRS or not 0 < span <= LARGEST_REACH_CM:
                raise ValueError(f"a span of {span} cm between fingers {low} and {high} is not one")
        if not (self.weak | self.resting) <= {1, 2, 3, 4, 5}:
            raise ValueError("fingers are numbered 1 (thumb) to 5 (little finger)")
        if len(self.resting) > 4:
            raise ValueError("a hand needs at least one finger that may play")

    @property
    def largest_mm(self) -> float:
        """Widest distance between two keys' centres that the hand can play, in millimetres."""
        return self.reach_cm * 10.0 - FINGERTIP_MM

    @property
    def comfortable_mm(self) -> float:
        """Widest distance between two keys' centres at which the hand stays supple, in millimetres."""
        if self.comfortable_cm is None:
            return self.largest_mm * COMFORTABLE_SHARE
        return min(self.comfortable_cm * 10.0 - FINGERTIP_MM, self.largest_mm)

    @property
    def octaves(self) -> float:
        """Largest reach in octaves."""
        return self.largest_mm / OCTAVE_MM

    @property
    def scale(self) -> float:
        """Size against the hand of the published tables, whose thumb and little finger span 15 semitones."""
        return self.largest_mm / (LARGEST_SEMITONES[1, 5] * SEMITONE_MM)

    def pair_largest_mm(self, one: int, other: int) -> float:
        """Widest distance of two keys that fingers `one` and `other` strike together, in millimetres."""
        low, high = sorted((one, other))
        for first, second, span in self.pair_cm:
            if (first, second) == (low, high):
                return min(span * 10.0 - FINGERTIP_MM, self.largest_mm)
        allowance = 1.0 if low == 1 else CHORD_ALLOWANCE
        return LARGEST_SEMITONES[low, high] * SEMITONE_MM * self.scale * allowance

    def pair_comfortable_mm(self, one: int, other: int) -> float:
        """Distance at which fingers `one` and `other` stay supple, in millimetres."""
        low, high = sorted((one, other))
        if (low, high) == (1, 5):
            return self.comfortable_mm
        share = COMFORTABLE_SEMITONES[low, high] / LARGEST_SEMITONES[low, high]
        supple = self.comfortable_mm / (self.largest_mm * COMFORTABLE_SHARE)
        largest = LARGEST_SEMITONES[low, high] * SEMITONE_MM * self.scale
        return min(self.pair_largest_mm(low, high), largest * min(1.0, share * supple))


@dataclass(frozen=True, slots=True)
class Hands:
    """Both hands of one student."""

    left: Hand = field(default_factory=Hand)
    right: Hand = field(default_factory=Hand)

    def of(self, side: Side) -> Hand:
        """The hand of one side."""
        return self.left if side == "left" else self.right

    @classmethod
    def alike(cls, hand: Hand) -> Hands:
        """Two hands of the same size."""
        return cls(hand, hand)


CHILD = Hand(16.0)
"""A child who does not reach an octave yet; a planning value, to be replaced by a measurement."""

SMALL = Hand(18.5)
"""An adult or a child who just reaches an octave: well below the mean of women."""

MEDIUM = Hand(DEFAULT_REACH_CM)
"""The mean span of women (Boyle, Boyle and Booker, 2015)."""

LARGE = Hand(22.6)
"""The mean span of men (Boyle, Boyle and Booker, 2015)."""

PRESETS = {"child": CHILD, "small": SMALL, "medium": MEDIUM, "large": LARGE}
"""Hands by name, for a first guess before a ruler is at hand."""
