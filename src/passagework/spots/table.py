"""The rows of the table of kinds (see `passagework.spots.kinds`)."""

from __future__ import annotations

from passagework.spots import (
    accidentals,
    crossing,
    double_notes,
    key_signature,
    leap,
    octaves,
    ornaments,
    passagework,
    polyrhythm,
    reading,
    repeated_notes,
    same_keys,
    soft_playing,
    stretch,
    sudden_dynamics,
    syncopation,
    tremolo,
    two_voices,
    words,
)
from passagework.spots.kinds import Kind

KINDS: tuple[Kind, ...] = (
    polyrhythm.KIND,
    syncopation.KIND,
    leap.KIND,
    stretch.KIND,
    passagework.KIND,
    double_notes.KIND,
    octaves.KIND,
    repeated_notes.KIND,
    tremolo.KIND,
    ornaments.KIND,
    two_voices.KIND,
    crossing.KIND,
    same_keys.KIND,
    key_signature.KIND,
    accidentals.KIND,
    sudden_dynamics.KIND,
    soft_playing.KIND,
    reading.KIND,
    words.KIND,
)
