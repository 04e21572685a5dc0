"""Which hand plays which note of a MIDI file: tracks where they say it, else the easiest sharing.

The sharing is a search through time, note group by note group, for the split into a lower and an
upper hand that costs least: chords within a hand's span, small moves for the time there is, hands in
their own half of the keyboard and not on top of each other. It keeps the best few beginnings at each
step (a beam search), which is linear in the number of notes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.score.midi_file import MidiData, Struck
from passagework.score.piece import Side

_RIGHT = re.compile(
    r"\b(right|rh|r\.h|upper|treble|rechts?|rechte|droite|destra|m\.?d\.?)\b", re.IGNORECASE
)
_LEFT = re.compile(
    r"\b(left|lh|l\.h|lower|bass|links?|linke|gauche|sinistra|m\.?g\.?|m\.?s\.?)\b", re.IGNORECASE
)

BEAM = 24
"""Beginnings kept at each step."""

SPAN_EASY, SPAN_MOST = 12, 16
"""Semitones of an octave, and of a tenth from black key to white: what most hands take and no more."""

MIDDLE = 60
"""Middle C, about which the hands divide where nothing else speaks."""

COST_WIDE, COST_IMPOSSIBLE = 2.0, 12.0
"""For each semitone beyond the easy span, and beyond the most."""

COST_MOVE = 0.35
"""For each semitone of travel at one quarter's time, falling with the time there is."""

COST_SIDE = 0.06
"""For each semitone on the other hand's side of middle C."""

COST_CROSS = 1.2
"""For each semitone by which the lower hand's last note lies above the upper hand's."""


def share_hands(midi: MidiData) -> tuple[list[Side], str]:
    """(hand of each note, how it was found: ``tracks`` or ``guess``)."""
    named = _by_name(midi)
    if named is not None:
        return [named[note.track] for note in midi.notes], "tracks"
    sources = [note.track for note in midi.notes]
    if len(set(sources)) == 1:
        sources = [note.channel for note in midi.notes]
    two = _two_sources(midi.notes, sources)
    if two is not None:
        return [two[source] for source in sources], "tracks"
    return _search(midi.notes, midi.per_quarter), "guess"


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


@dataclass(slots=True)
class _Path:
    """A way of sharing the notes so far: its cost, where each hand is, and since when."""

    cost: float
    left: tuple[float, float]
    right: tuple[float, float]
    split: int
    before: _Path | None


def _search(notes: Sequence[Struck], per_quarter: float) -> list[Side]:
    groups: list[list[int]] = []
    near = per_quarter / 16
    for index, note in enumerate(notes):
        if groups and note.onset - notes[groups[-1][0]].onset <= near:
            groups[-1].append(index)
        else:
            groups.append([index])
    for group in groups:
        group.sort(key=lambda i: notes[i].midi)
    paths = [_Path(0.0, (MIDDLE - 12.0, -9.0), (MIDDLE + 12.0, -9.0), 0, None)]
    for group in groups:
        pitches = [notes[i].midi for i in group]
        now = notes[group[0]].onset / per_quarter
        paths = _step(paths, pitches, now)
    path: _Path | None = min(paths, key=lambda p: p.cost)
    sides: list[Side] = ["right"] * len(notes)
    for group in reversed(groups):
        assert path is not None
        for i in group[: path.split]:
            sides[i] = "left"
        path = path.before
    return sides


def _step(paths: Sequence[_Path], pitches: Sequence[int], now: float) -> list[_Path]:
    count = len(pitches)
    own = [_chord_cost(pitches[:k], 1) + _chord_cost(pitches[k:], -1) for k in range(count + 1)]
    grown: list[_Path] = []
    for path in paths:
        for k in range(count + 1):
            left, right = path.left, path.right
            cost = path.cost + own[k]
            if k:
                centre = (pitches[0] + pitches[k - 1]) / 2
                cost += _move(left, centre, now)
                cost += COST_CROSS * max(0.0, centre - right[0]) / (1 + max(0.0, now - right[1]))
                left = (centre, now)
            if k < count:
                centre = (pitches[k] + pitches[-1]) / 2
                cost += _move(right, centre, now)
                cost += COST_CROSS * max(0.0, left[0] - centre) / (1 + max(0.0, now - left[1]))
                right = (centre, now)
            grown.append(_Path(cost, left, right, k, path))
    grown.sort(key=lambda p: p.cost)
    return grown[:BEAM]


def _move(hand: tuple[float, float], centre: float, now: float) -> float:
    return COST_MOVE * abs(centre - hand[0]) / (0.5 + min(now - hand[1], 4.0))


def _chord_cost(pitches: Sequence[int], side: int) -> float:
    """Cost of striking `pitches` with one hand; `side` is 1 for the left, -1 for the right."""
    if not pitches:
        return 0.0
    span = pitches[-1] - pitches[0]
    cost = COST_WIDE * max(0, span - SPAN_EASY) + COST_IMPOSSIBLE * max(0, span - SPAN_MOST)
    cost += COST_IMPOSSIBLE * max(0, len(pitches) - 5)
    return cost + COST_SIDE * sum(max(0, side * (pitch - MIDDLE)) for pitch in pitches)
