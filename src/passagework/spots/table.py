"""The one table of kinds of difficulty. Adding a kind is one module and one row here."""

from __future__ import annotations

from passagework.spots import (
    accidentals,
    balance,
    changing_divisions,
    crossing,
    dotted,
    double_notes,
    handover,
    hands_together,
    harmony,
    key_signature,
    leap,
    near_repeats,
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
    changing_divisions.KIND,
    dotted.KIND,
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
    balance.KIND,
    hands_together.KIND,
    handover.KIND,
    crossing.KIND,
    same_keys.KIND,
    key_signature.KIND,
    accidentals.KIND,
    harmony.KIND,
    sudden_dynamics.KIND,
    soft_playing.KIND,
    near_repeats.KIND,
    reading.KIND,
    words.KIND,
)


def all_kinds() -> tuple[Kind, ...]:
    """Every kind, in the order in which rows are shown."""
    return KINDS
