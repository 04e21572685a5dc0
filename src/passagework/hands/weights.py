"""How much each term of cost counts, and how time and loudness change it.

The weights were first judged from the published rules (Parncutt and others, 1997; they are kept in
`bench/fingering.py`), and then estimated from the standard fingerings of scales and arpeggios and from
an edition's fingerings. The values here have seen the whole edition; what they are worth on bars that
were not seen is the bench's cross-validation: 0.64 of the printed notes agreed before any fit, 0.70 on
bars left out of the fit, 0.77 with these values on all of them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from passagework.hands.terms import TERMS, Term

WEIGHTS: dict[Term, float] = {
    Term.STRETCH: 0.2,
    Term.CRAMPED: 0.65,
    Term.SHIFT: 0.13,
    Term.SHIFT_FAR: 0.38,
    Term.JUMP: 1.22,
    Term.PASS: 3.06,
    Term.PASS_ONTO_BLACK: 2.97,
    Term.PASS_FROM_BLACK: -0.55,
    Term.PASS_WIDE: 0.34,
    Term.PASS_BY_FOUR: 0.38,
    Term.PASS_BY_TWO: 0.1,
    Term.PASS_BY_FIVE: 4.16,
    Term.CROSS: 6.83,
    Term.HOP: 3.3,
    Term.CHANGE: 1.5,
    Term.REPEAT: 1.5,
    Term.THUMB_BLACK: 0.53,
    Term.FIVE_BLACK: 0.25,
    Term.THREE_FOUR: 0.06,
    Term.FOUR_FIVE: 0.06,
    Term.FOUR_BLACK: 0.05,
    Term.SKIP_STRETCH: 0.41,
    Term.SKIP_HOP: 0.65,
    Term.SKIP_CHANGE: 0.1,
    Term.SKIP_THUMB: 0.54,
    Term.CHORD_STRETCH: 1.54,
    Term.CHORD_CRAMPED: 0.67,
    Term.CHORD_WEAK: 0.29,
    Term.THUMB_ON_BLACK: 0.35,
    Term.FIVE_ON_BLACK: 0.36,
    Term.WEAK: 0.64,
    Term.SUBSTITUTION: 2.84,
    Term.BLOCK_CHANGE: 0.69,
    Term.BLOCK_CROSS: 1.05,
    Term.BLOCK_HOP: 1.5,
    Term.ORNAMENT: 1.0,
    Term.SPARED: 3.0,
    Term.STRETCH_TWO_THREE: 0.24,
    Term.STRETCH_THREE_FOUR: 0.11,
    Term.STRETCH_FOUR_FIVE: 0.1,
    Term.STRETCH_OUTER: 0.23,
    Term.PASS_WIDE_BY_FOUR: 0.43,
    Term.CHORD_STRETCH_INNER: 0.15,
    Term.NARROW: 0.23,
    Term.THUMB_BLACK_STEP: 1.0,
    Term.FIVE_BLACK_STEP: 0.3,
    Term.CRAMPED_INNER: 0.79,
    Term.SKIP_NARROW: 3.0,
}
"""Cost of one unit of each term, for a legato step at a moderate pace, played mezzo forte."""

FAST_SECONDS = 0.12
"""Wait between attacks at which a passage is fast without doubt (about eight notes a second)."""

SLOW_SECONDS = 0.35
"""Wait from which on speed is no matter."""

FREE_SECONDS = 0.5
"""A silence after which the hand may start anywhere."""

LEAST_LEGATO = 0.2
"""What is left of the cost of a movement when the hand is free to move."""

BREATH_LEGATO = 0.6
"""What is left of it at the end of a phrase."""

SOFT = 0.35
"""Loudness (0 to 1) below which evenness begins to outweigh habit: *piano* and softer."""

EVENNESS = 0.5
"""Share by which passing, jumping and hopping cost more, and habits less, at *pp* and speed."""

_MOVING = (
    Term.STRETCH, Term.STRETCH_TWO_THREE, Term.STRETCH_THREE_FOUR, Term.STRETCH_FOUR_FIVE,
    Term.STRETCH_OUTER, Term.CRAMPED_INNER, Term.SKIP_NARROW, Term.NARROW, Term.PASS_WIDE_BY_FOUR, Term.CRAMPED, Term.SHIFT, Term.SHIFT_FAR, Term.JUMP, Term.PASS,
    Term.PASS_ONTO_BLACK, Term.PASS_FROM_BLACK, Term.PASS_WIDE, Term.PASS_BY_FOUR, Term.PASS_BY_TWO,
    Term.PASS_BY_FIVE, Term.CROSS, Term.HOP, Term.SKIP_STRETCH, Term.SKIP_HOP, Term.SKIP_THUMB,
    Term.SKIP_CHANGE, Term.CHANGE, Term.THUMB_BLACK, Term.FIVE_BLACK, Term.THUMB_BLACK_STEP, Term.FIVE_BLACK_STEP, Term.BLOCK_CHANGE,
    Term.BLOCK_CROSS, Term.BLOCK_HOP,
)  # fmt: skip
_SPEEDING = (Term.JUMP, Term.THREE_FOUR, Term.FOUR_FIVE, Term.SHIFT_FAR)
_UNEVEN = (Term.PASS, Term.JUMP, Term.HOP, Term.CROSS, Term.PASS_WIDE)
_HABIT = (
    Term.THUMB_BLACK,
    Term.FIVE_BLACK,
    Term.THUMB_BLACK_STEP,
    Term.FIVE_BLACK_STEP,
    Term.THREE_FOUR,
    Term.FOUR_FIVE,
)


@dataclass(frozen=True, slots=True)
class Moment:
    """What the time and the loudness of one attack do to the weights; numbers rounded to be shared."""

    legato: float = 1.0
    """1 where the hand is bound to the attack before, down to `LEAST_LEGATO` where it is free."""
    speed: float = 0.0
    """0 slow to 1 fast."""
    evenness: float = 0.0
    """0, up to 1 where it is soft and fast."""


def moment(wait: float, gap: float, breath: bool, loudness: float) -> Moment:
    """The moment of an attack `wait` seconds after the last, the hand silent for `gap` of them."""
    legato = max(LEAST_LEGATO, 1.0 - gap / FREE_SECONDS)
    if breath:
        legato = min(legato, BREATH_LEGATO)
    speed = min(1.0, max(0.0, (SLOW_SECONDS - wait) / (SLOW_SECONDS - FAST_SECONDS)))
    softness = min(1.0, max(0.0, (SOFT - loudness) / SOFT))
    return Moment(round(legato, 1), round(speed, 1), round(softness * speed, 1))


def weight_vector(weights: dict[Term, float] | None = None) -> NDArray[np.float64]:
    """The weights as an array in the order of `Term`."""
    source = weights or WEIGHTS
    return np.array([source[Term(i)] for i in range(TERMS)])


@lru_cache(maxsize=4096)
def factors(at: Moment) -> NDArray[np.float64]:
    """What to multiply the weights by at one moment."""
    factor = np.ones(TERMS)
    factor[list(_MOVING)] *= at.legato
    factor[list(_SPEEDING)] *= 0.5 + at.speed
    factor[Term.CHANGE] *= 1.0 - 0.9 * at.speed
    factor[Term.REPEAT] *= at.speed
    factor[list(_UNEVEN)] *= 1.0 + EVENNESS * at.evenness
    factor[list(_HABIT)] *= 1.0 - EVENNESS * at.evenness
    factor.setflags(write=False)
    return factor
