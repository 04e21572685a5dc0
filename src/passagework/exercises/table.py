"""The techniques, and which of them serve which kind of difficulty: adding a technique is one module,
one row here, and its name in the kinds it is good for.
"""

from __future__ import annotations

from passagework.exercises import (
    add_a_beat,
    blocks,
    from_the_end,
    groups_with_stops,
    hands_separately,
    landing,
    rhythms,
    shrinking_stop,
    tempo_ladder,
    ties_out,
)
from passagework.exercises.exercise import Technique

TECHNIQUES: tuple[Technique, ...] = (
    hands_separately.TECHNIQUE,
    blocks.TECHNIQUE,
    rhythms.TECHNIQUE,
    groups_with_stops.TECHNIQUE,
    add_a_beat.TECHNIQUE,
    from_the_end.TECHNIQUE,
    shrinking_stop.TECHNIQUE,
    ties_out.TECHNIQUE,
    landing.TECHNIQUE,
    tempo_ladder.TECHNIQUE,
)

BY_NAME = {technique.name: technique for technique in TECHNIQUES}

GENERAL = ("hands-separately", "add-a-beat", "from-the-end", "tempo-ladder")
"""What serves any place, in order: taken where the techniques of its own kind do not fit."""

BY_KIND: dict[str, tuple[str, ...]] = {
    "polyrhythm": ("hands-separately", "shrinking-stop", "tempo-ladder"),
    "syncopation": ("ties-out", "hands-separately", "tempo-ladder"),
    "leap": ("landing", "shrinking-stop", "from-the-end", "tempo-ladder"),
    "stretch": ("landing", "hands-separately", "tempo-ladder"),
    "passagework": ("blocks", "rhythms", "groups-with-stops", "add-a-beat", "tempo-ladder"),
    "double-notes": ("rhythms", "groups-with-stops", "add-a-beat", "tempo-ladder"),
    "octaves": ("rhythms", "groups-with-stops", "tempo-ladder"),
    "repeated-notes": ("groups-with-stops", "rhythms", "tempo-ladder"),
    "tremolo": ("blocks", "groups-with-stops", "tempo-ladder"),
    "ornaments": ("hands-separately", "tempo-ladder"),
    "two-voices": ("hands-separately", "ties-out", "tempo-ladder"),
    "crossing": ("hands-separately", "landing", "shrinking-stop", "tempo-ladder"),
    "same-keys": ("hands-separately", "shrinking-stop", "tempo-ladder"),
    "key-signature": ("hands-separately", "from-the-end", "tempo-ladder"),
    "accidentals": ("hands-separately", "blocks", "from-the-end", "tempo-ladder"),
    "sudden-dynamics": ("shrinking-stop", "from-the-end", "tempo-ladder"),
    "soft-playing": ("hands-separately", "landing", "tempo-ladder"),
    "reading": ("hands-separately", "blocks", "add-a-beat", "tempo-ladder"),
    "words": ("from-the-end", "tempo-ladder"),
}
"""For each kind of difficulty the techniques that serve it, the first choice first. Names without a row
in `TECHNIQUES` are passed over."""
