"""The rows of the table of kinds (see `passagework.spots.kinds`)."""

from __future__ import annotations

from passagework.spots import (
    accidentals,
    crossing,
    key_signature,
    reading,
    same_keys,
    soft_playing,
    sudden_dynamics,
    two_voices,
)
from passagework.spots.kinds import Kind

KINDS: tuple[Kind, ...] = (
    two_voices.KIND,
    crossing.KIND,
    same_keys.KIND,
    key_signature.KIND,
    accidentals.KIND,
    sudden_dynamics.KIND,
    soft_playing.KIND,
    reading.KIND,
)
