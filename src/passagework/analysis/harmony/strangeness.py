"""How easily a note passes for one that does not belong to the chord, from what its voice does."""

from __future__ import annotations

from itertools import pairwise

from passagework.analysis.harmony import weights
from passagework.score.piece import Note

Struck = list[int]
"""Indices of the notes of one voice that are struck together."""
SAME, STEP, FREE_STEP = 3, 2, 1


def _near(pitches: list[tuple[int, int]], note: tuple[int, int]) -> int:
    """SAME where `pitches` hold the note itself, STEP where they hold a resolution of it (a step
    down or a half step up), FREE_STEP for a whole step up, else 0.
    """
    found, (own, step) = 0, note
    for midi, diatonic in pitches:
        moved = midi - own
        if moved == 0:
            return SAME
        if abs(diatonic - step) == 1 and abs(moved) <= 2:
            found = max(found, FREE_STEP if moved == 2 else STEP)
    return found


def voices_of(notes: tuple[Note, ...], starts: list[int]) -> list[list[Struck]]:
    """For every voice its notes in order, those struck together as one."""
    voices: dict[tuple[int, str], list[Struck]] = {}
    for i, note in enumerate(notes):
        groups = voices.setdefault((note.staff, note.voice), [])
        if groups and starts[groups[-1][0]] == starts[i]:
            groups[-1].append(i)
        else:
            groups.append([i])
    return list(voices.values())


def strangeness_of(
    notes: tuple[Note, ...],
    voices: list[list[Struck]],
    starts: list[int],
    ends: list[int],
    beats: list[int],
    weak: list[bool],
) -> list[int]:
    """For every note the log probability, in thousandths of a nat, that it is heard as a non-chord note.

    `starts` and `ends` in ticks, `beats` the length of the beat each begins in, `weak` whether it is
    short and off the beat.
    """
    places = [(note.midi, note.pitch.diatonic) for note in notes]
    before: list[int] = [0] * len(notes)
    after: list[int] = [0] * len(notes)
    for groups in voices:
        for one, two in pairwise(groups):
            gap = starts[two[0]] - max(ends[i] for i in one)
            if gap >= beats[one[0]]:
                continue
            later, earlier = [places[i] for i in two], [places[i] for i in one]
            for i in one:
                after[i] = _near(later, places[i])
            for i in two:
                before[i] = _near(earlier, places[i])
    out = []
    for i in range(len(notes)):
        odds = weights.STRANGER
        reached = before[i] in {STEP, FREE_STEP}
        if after[i] == STEP or (after[i] == FREE_STEP and reached):
            odds += weights.STEP_AWAY
            if before[i] == SAME:
                odds += weights.HELD_OVER
        if reached:
            odds += weights.STEP_TOWARDS
        if weak[i]:
            odds += weights.WEAK
        out.append(round(odds * 1000))
    return out
