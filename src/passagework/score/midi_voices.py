"""Deals the notes of one hand into voices in which nothing overlaps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

MOST_VOICES = 4
"""Voices to a staff: more cannot be read, and a hand has no fingers for them."""


@dataclass(frozen=True, slots=True)
class Chord:
    """Notes struck and released together; positions in quarters, pitches as MIDI numbers."""

    onset: Fraction
    end: Fraction
    pitches: tuple[int, ...]


def deal_voices(
    notes: Sequence[tuple[Fraction, Fraction, int]], *, loose: bool
) -> list[list[Chord]]:
    """Voices of chords in order, from (onset, end, pitch) of one hand, in order of onset.

    `loose` notes were played and not typed: those struck together end together, and what overlaps
    the next chord without being held through it is cut at it.
    """
    chords = _chords(notes, loose=loose)
    if loose:
        chords = _cut_overlaps(chords)
    voices: list[list[Chord]] = []
    for chord in chords:
        free = [voice for voice in voices if voice[-1].end <= chord.onset]
        if free:
            near = min(free, key=lambda v: (_distance(v[-1], chord), voices.index(v)))
            near.append(chord)
        elif len(voices) < MOST_VOICES:
            voices.append([chord])
        else:
            _squeeze(voices, chord)
    return voices


def _chords(notes: Sequence[tuple[Fraction, Fraction, int]], *, loose: bool) -> list[Chord]:
    groups: dict[tuple[Fraction, Fraction], set[int]] = {}
    longest: dict[Fraction, Fraction] = {}
    for onset, end, _ in notes:
        longest[onset] = max(longest.get(onset, end), end)
    for onset, end, pitch in notes:
        groups.setdefault((onset, longest[onset] if loose else end), set()).add(pitch)
    chords = [Chord(onset, end, tuple(sorted(pitches))) for (onset, end), pitches in groups.items()]
    # Of chords that begin together the higher one comes first: the upper voice.
    return sorted(chords, key=lambda c: (c.onset, -c.pitches[-1], c.end))


def _cut_overlaps(chords: Sequence[Chord]) -> list[Chord]:
    """A finger lifted late is no second voice; a note held through the next two chords is."""
    cut: list[Chord] = []
    for index, chord in enumerate(chords):
        end = chord.end
        if index + 1 < len(chords) and chords[index + 1].onset > chord.onset:
            after = chords[index + 2].onset if index + 2 < len(chords) else end
            if end > chords[index + 1].onset and end <= after:
                end = chords[index + 1].onset
        cut.append(Chord(chord.onset, end, chord.pitches))
    return cut


def _distance(last: Chord, chord: Chord) -> float:
    return abs(sum(last.pitches) / len(last.pitches) - sum(chord.pitches) / len(chord.pitches))


def _squeeze(voices: list[list[Chord]], chord: Chord) -> None:
    """No voice is free: end the chord that is nearest its end, or join the one that began here too."""
    open_ = [voice for voice in voices if voice[-1].onset < chord.onset]
    if open_:
        voice = min(open_, key=lambda v: v[-1].end)
        last = voice[-1]
        voice[-1] = Chord(last.onset, chord.onset, last.pitches)
        voice.append(chord)
        return
    voice = min(voices, key=lambda v: _distance(v[-1], chord))
    last = voice[-1]
    pitches = tuple(sorted({*last.pitches, *chord.pitches}))
    voice[-1] = Chord(last.onset, min(last.end, chord.end), pitches)
