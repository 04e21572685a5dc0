"""The techniques: adding one is one module, one row here, and its name in the kinds it is good for
(`passagework.exercises.for_kinds`).
"""

from __future__ import annotations

from passagework.exercises import (
    add_a_beat,
    balance,
    blocks,
    counted_pulse,
    finger_changes,
    forks,
    from_the_end,
    groups_with_stops,
    hand_positions,
    hands_separately,
    hear_the_chord,
    landing,
    loud_then_soft,
    name_notes,
    new_key,
    ornament_stages,
    plain_then_words,
    polyrhythm,
    rhythms,
    shrinking_stop,
    starting_places,
    tempo_ladder,
    ties_out,
    tremolo_stages,
    tune_first,
    voices_separately,
)
from passagework.exercises.exercise import Technique
from passagework.exercises.for_kinds import BY_KIND, GENERAL

TECHNIQUES: tuple[Technique, ...] = (
    hands_separately.TECHNIQUE,
    blocks.TECHNIQUE,
    hand_positions.TECHNIQUE,
    rhythms.TECHNIQUE,
    groups_with_stops.TECHNIQUE,
    finger_changes.TECHNIQUE,
    voices_separately.TECHNIQUE,
    add_a_beat.TECHNIQUE,
    from_the_end.TECHNIQUE,
    shrinking_stop.TECHNIQUE,
    ties_out.TECHNIQUE,
    polyrhythm.TECHNIQUE,
    counted_pulse.TECHNIQUE,
    landing.TECHNIQUE,
    tremolo_stages.TECHNIQUE,
    ornament_stages.TECHNIQUE,
    tune_first.TECHNIQUE,
    balance.TECHNIQUE,
    loud_then_soft.TECHNIQUE,
    plain_then_words.TECHNIQUE,
    new_key.TECHNIQUE,
    name_notes.TECHNIQUE,
    hear_the_chord.TECHNIQUE,
    forks.TECHNIQUE,
    starting_places.TECHNIQUE,
    tempo_ladder.TECHNIQUE,
)

BY_NAME = {technique.name: technique for technique in TECHNIQUES}

__all__ = ["BY_KIND", "BY_NAME", "GENERAL", "TECHNIQUES"]
