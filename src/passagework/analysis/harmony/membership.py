"""Which notes belong to their chord, and what the others are doing there."""

from __future__ import annotations

from itertools import pairwise

from passagework.analysis.harmony.evidence import Evidence
from passagework.analysis.harmony.result import NonChordKind

STEP = 2
"""Semitones of the largest step."""
Place = tuple[int, int]
"""MIDI number and staff step."""


class Neighbours:
    """For every note, what its voice plays just before and after it."""

    def __init__(self, evidence: Evidence) -> None:
        """Reads the voices of `evidence`; the nearest note counts where several are struck together."""
        self.place: list[Place] = [(n.midi, n.pitch.diatonic) for n in evidence.notes]
        self.before: list[Place | None] = [None] * len(self.place)
        self.after: list[Place | None] = [None] * len(self.place)
        for groups in evidence.voices:
            for one, two in pairwise(groups):
                earlier, later = [self.place[i] for i in one], [self.place[i] for i in two]
                for i in one:
                    self.after[i] = _nearest(self.place[i], later)
                for i in two:
                    self.before[i] = _nearest(self.place[i], earlier)


def _nearest(place: Place, others: list[Place]) -> Place:
    if len(others) == 1:
        return others[0]
    return min(others, key=lambda o: (abs(o[0] - place[0]), o))


def _step(one: Place, two: Place) -> int:
    """+1 or -1 for a step up or down from `one` to `two`, 0 for anything else."""
    moved = two[0] - one[0]
    if abs(two[1] - one[1]) > 1 or not 0 < abs(moved) <= STEP:
        return 0
    return 1 if moved > 0 else -1


def kind_of(
    index: int,
    near: Neighbours,
    held_in: bool,
    strong: bool,
    next_tones: frozenset[int],
    is_pedal: bool,
) -> NonChordKind:
    """What a note outside the chord is; `index` is its place among the notes of the evidence.

    `held_in`: it began before the chord; `strong`: it is struck on a beat; `next_tones`: pitch
    classes of the next chord; `is_pedal`: it is the bass under a chord it does not belong to.
    """
    note, before, after = near.place[index], near.before[index], near.after[index]
    away = _step(note, after) if after else 0
    if held_in:
        return "suspension" if away else ("pedal" if is_pedal else "")
    if is_pedal and not away:
        return "pedal"
    if before is not None and after is not None:
        towards = _step(before, note)
        if before[0] == note[0] and away and strong:
            return "suspension"
        if towards and away:
            return "passing" if towards == away else "neighbour"
        if after[0] == note[0] and note[0] % 12 in next_tones:
            return "anticipation"
        if towards and (after[0] - note[0]) * towards < 0:
            return "escape"
    return "appoggiatura" if away else ""
