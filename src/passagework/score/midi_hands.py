"""Which hand plays which note of a MIDI file: tracks where they say it, else the easiest sharing."""

from __future__ import annotations

import re
from collections.abc import Sequence

from passagework.score.hand_links import Heard
from passagework.score.hand_search import share_notes
from passagework.score.midi_file import MidiData, Struck
from passagework.score.piece import Side

_RIGHT = re.compile(
    r"\b(right|rh|r\.h|upper|treble|rechts?|rechte|droite|destra|m\.?d\.?)\b", re.IGNORECASE
)
_LEFT = re.compile(
    r"\b(left|lh|l\.h|lower|bass|links?|linke|gauche|sinistra|m\.?g\.?|m\.?s\.?)\b", re.IGNORECASE
)


DOUBTFUL = 0.75
"""How sure a note must be not to be counted as doubtful."""


def share_hands(midi: MidiData) -> tuple[list[Side], int | None]:
    """(hand of each note, how many are doubtful); None for the number where the tracks say the hands."""
    named = _by_name(midi)
    if named is not None:
        return [named[note.track] for note in midi.notes], None
    sources = [note.track for note in midi.notes]
    if len(set(sources)) == 1:
        sources = [note.channel for note in midi.notes]
    two = _two_sources(midi.notes, sources)
    if two is not None:
        return [two[source] for source in sources], None
    found = _search(midi.notes, midi.per_quarter)
    return [side for side, _ in found], sum(sure < DOUBTFUL for _, sure in found)


def _by_name(midi: MidiData) -> dict[int, Side] | None:
    """Hands by the names of the tracks, where every track with notes says one."""
    sides: dict[int, Side] = {}
    for track in {note.track for note in midi.notes}:
        name = midi.names.get(track, "")
        if _RIGHT.search(name) and not _LEFT.search(name):
            sides[track] = "right"
        elif _LEFT.search(name) and not _RIGHT.search(name):
            sides[track] = "left"
        else:
            return None
    return sides if len(set(sides.values())) == 2 else None


def _two_sources(notes: Sequence[Struck], sources: Sequence[int]) -> dict[int, Side] | None:
    """Two tracks (or channels) are two hands, the higher one the right."""
    rows: dict[int, list[int]] = {}
    for note, source in zip(notes, sources, strict=True):
        rows.setdefault(source, []).append(note.midi)
    if len(rows) != 2:
        return None
    low, high = sorted(rows, key=lambda s: (sum(rows[s]) / len(rows[s]), -s))
    return {low: "left", high: "right"}


def _search(notes: Sequence[Struck], per_quarter: float) -> list[tuple[Side, float]]:
    heard = [Heard(n.onset / per_quarter, n.end / per_quarter, n.midi) for n in notes]
    return share_notes(heard)
