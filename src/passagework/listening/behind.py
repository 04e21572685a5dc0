"""What stands behind a finding: the difficulties of the score at the notes concerned, and their names in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.listening.heard import Heard

NAMES = {
    "polyrhythm": "two rhythms at once",
    "changing-divisions": "a change in the division of the beat",
    "dotted-rhythm": "a dotted rhythm",
    "syncopation": "an attack off the beat",
    "leap": "a leap",
    "stretch": "a wide stretch",
    "passagework": "running notes",
    "double-notes": "double notes",
    "octaves": "octaves",
    "repeated-notes": "repeated notes",
    "tremolo": "a tremolo",
    "ornaments": "an ornament",
    "two-voices": "two voices in one hand",
    "hands-together": "the hands doing different things",
    "tune-between-hands": "the tune changing hands",
    "hands-crossing": "the hands crossing",
    "same-keys": "both hands on the same keys",
    "key-signature": "a new key signature",
    "accidentals": "notes against the signature",
    "harmony": "a chord that the ear does not expect",
    "sudden-dynamics": "a sudden change of loudness",
    "soft-playing": "playing softly",
    "near-repeats": "a passage that goes on differently from one like it",
    "reading": "notes that are slow to read",
}
"""Kinds of difficulty as a thing that stands in the music. Kinds that are left out explain nothing about time."""

POINTED = frozenset(
    {"leap", "stretch", "key-signature", "accidentals", "harmony", "hands-crossing", "near-repeats", "sudden-dynamics"}
)  # fmt: skip
"""Kinds that bite at one attack, and so explain a pause before it better than what goes on for bars."""


def kinds_at(heard: Heard, note_ids: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Kinds of difficulty at these notes, the likeliest cause first."""
    wanted = set(note_ids)
    worst: dict[str, float] = {}
    for ident in wanted:
        for kind, severity in heard.difficulties.get(ident, ()):
            if kind in NAMES:
                value = severity + (0.5 if kind in POINTED else 0.0)
                worst[kind] = max(worst.get(kind, 0.0), value)
    ordered = sorted(worst, key=lambda kind: (-worst[kind], kind))
    return tuple(ordered[:most])


def preferred(
    heard: Heard, note_ids: Sequence[str], kinds: Sequence[str], fallback: str
) -> tuple[str, ...]:
    """Those of `kinds` that stand at the notes, in the order of `kinds`; `fallback` where there is none."""
    there = set(kinds_at(heard, note_ids, most=len(NAMES)))
    return tuple(k for k in kinds if k in there) or (fallback,)
