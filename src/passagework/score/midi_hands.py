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

COST_BORDER = 0.3
"""For each semitone on the other side of where the notes about it divide, up to an octave."""

COST_HOLD = 1.0
"""For each semitone by which struck notes are too far from what the hand holds."""

WINDOW = 4
"""Quarters before and after, in which the notes are looked at to see where they divide."""

HELD = 0.1
"""Quarters a note must still last to be held."""

MOST_HELD = 5
"""Fingers of a hand."""

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
    """A way of sharing the notes so far: its cost, where each hand is and since when, what it holds."""

    cost: float
    left: tuple[float, float]
    right: tuple[float, float]
    split: int
    before: _Path | None
    held_left: tuple[tuple[float, int], ...] = ()
    held_right: tuple[tuple[float, int], ...] = ()


def _search(notes: Sequence[Struck], per_quarter: float) -> list[Side]:
    groups: list[list[int]] = []
    near = per_quarter / 16
    for index, note in enumerate(notes):
        if groups and note.onset - notes[groups[-1][0]].onset <= near:
            groups[-1].append(index)
        else:
            groups.append([index])
    borders = _borders(notes, [notes[g[0]].onset for g in groups], WINDOW * per_quarter)
    paths = [_Path(0.0, (MIDDLE - 12.0, -9.0), (MIDDLE + 12.0, -9.0), 0, None)]
    for group, border in zip(groups, borders, strict=True):
        group.sort(key=lambda i: notes[i].midi)
        struck = [(notes[i].end / per_quarter, notes[i].midi) for i in group]
        paths = _step(paths, struck, notes[group[0]].onset / per_quarter, border)
    path: _Path | None = min(paths, key=lambda p: p.cost)
    sides: list[Side] = ["right"] * len(notes)
    for group in reversed(groups):
        assert path is not None
        for i in group[: path.split]:
            sides[i] = "left"
        path = path.before
    return sides


def _borders(notes: Sequence[Struck], onsets: Sequence[int], window: float) -> list[float]:
    """For each onset the pitch between the two clusters of the notes about it (two means)."""
    counts = [0] * 128
    low = high = 0
    borders: list[float] = []
    border = float(MIDDLE)
    for onset in onsets:
        while high < len(notes) and notes[high].onset <= onset + window:
            counts[notes[high].midi] += 1
            high += 1
        while notes[low].onset < onset - window:
            counts[notes[low].midi] -= 1
            low += 1
        border = _between(counts, border)
        borders.append(border)
    return borders


def _between(counts: Sequence[int], start: float) -> float:
    there = [(pitch, count) for pitch, count in enumerate(counts) if count]
    border = (there[0][0] + there[-1][0]) / 2
    for _ in range(8):
        below = [(p, c) for p, c in there if p <= border]
        above = [(p, c) for p, c in there if p > border]
        if not below or not above:
            return start
        means = [sum(p * c for p, c in rows) / sum(c for _, c in rows) for rows in (below, above)]
        new = sum(means) / 2
        if abs(new - border) < 0.25:
            break
        border = new
    return border


def _step(
    paths: Sequence[_Path], struck: Sequence[tuple[float, int]], now: float, border: float
) -> list[_Path]:
    pitches = [midi for _, midi in struck]
    count = len(pitches)
    own = [
        _chord_cost(pitches[:k], 1, border) + _chord_cost(pitches[k:], -1, border)
        for k in range(count + 1)
    ]
    grown: list[_Path] = []
    for path in paths:
        held_left = tuple(h for h in path.held_left if h[0] > now + HELD)
        held_right = tuple(h for h in path.held_right if h[0] > now + HELD)
        for k in range(count + 1):
            left, right = path.left, path.right
            cost = path.cost + own[k]
            if k:
                centre = (pitches[0] + pitches[k - 1]) / 2
                cost += _move(left, centre, now) + _hold(held_left, pitches[0], pitches[k - 1])
                cost += COST_CROSS * max(0.0, centre - right[0]) / (1 + max(0.0, now - right[1]))
                left = (centre, now)
            if k < count:
                centre = (pitches[k] + pitches[-1]) / 2
                cost += _move(right, centre, now) + _hold(held_right, pitches[k], pitches[-1])
                cost += COST_CROSS * max(0.0, left[0] - centre) / (1 + max(0.0, now - left[1]))
                right = (centre, now)
            grown.append(
                _Path(
                    cost,
                    left,
                    right,
                    k,
                    path,
                    (held_left + tuple(struck[:k]))[-MOST_HELD:],
                    (held_right + tuple(struck[k:]))[-MOST_HELD:],
                )
            )
    grown.sort(key=lambda p: p.cost)
    return grown[:BEAM]


def _move(hand: tuple[float, float], centre: float, now: float) -> float:
    return COST_MOVE * abs(centre - hand[0]) / (0.5 + min(now - hand[1], 4.0))


def _hold(held: Sequence[tuple[float, int]], lowest: int, highest: int) -> float:
    """Cost of striking between `lowest` and `highest` with what the hand still holds."""
    if not held:
        return 0.0
    low = min(lowest, min(midi for _, midi in held))
    high = max(highest, max(midi for _, midi in held))
    span = high - low
    return COST_HOLD * (max(0, span - SPAN_EASY) + max(0, span - SPAN_MOST))


def _chord_cost(pitches: Sequence[int], side: int, border: float) -> float:
    """Cost of striking `pitches` with one hand; `side` is 1 for the left, -1 for the right."""
    if not pitches:
        return 0.0
    span = pitches[-1] - pitches[0]
    cost = COST_WIDE * max(0, span - SPAN_EASY) + COST_IMPOSSIBLE * max(0, span - SPAN_MOST)
    cost += COST_IMPOSSIBLE * max(0, len(pitches) - 5)
    for pitch in pitches:
        cost += COST_SIDE * max(0, side * (pitch - MIDDLE))
        cost += COST_BORDER * min(max(0.0, side * (pitch - border)), SPAN_EASY)
    return cost
