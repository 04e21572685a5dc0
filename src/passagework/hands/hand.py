"""A student's hand: how far it reaches, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.hands.keyboard import OCTAVE_MM

FINGERTIP_MM = 12.0
"""A key is played near its edge by thumb and little finger: the span of a hand measured from tip to
tip reaches about half a fingertip less at either side, in millimetres together."""

DEFAULT_REACH_CM = 20.1
"""Mean span of adult women (Boyle, Boyle and Booker, 2015): the larger group of piano students, and
the safer assumption for the rest."""

COMFORTABLE_SHARE = 0.9
"""Share of the largest span at which a hand stays supple at speed."""


@dataclass(frozen=True, slots=True)
class Hand:
    """Reach from thumb to little finger, stretched without strain, measured tip to tip."""

    reach_cm: float = DEFAULT_REACH_CM

    @property
    def largest_mm(self) -> float:
        """Widest distance between two keys' centres that the hand can play, in millimetres."""
        return self.reach_cm * 10.0 - FINGERTIP_MM

    @property
    def comfortable_mm(self) -> float:
        """Widest distance between two keys' centres at which the hand stays supple, in millimetres."""
        return self.largest_mm * COMFORTABLE_SHARE

    @property
    def octaves(self) -> float:
        """Largest reach in octaves."""
        return self.largest_mm / OCTAVE_MM
