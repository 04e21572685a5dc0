"""The rows of the table of kinds (see `passagework.spots.kinds`)."""

from __future__ import annotations

from passagework.spots import crossing, same_keys, two_voices
from passagework.spots.kinds import Kind

KINDS: tuple[Kind, ...] = (
    two_voices.KIND,
    crossing.KIND,
    same_keys.KIND,
)
