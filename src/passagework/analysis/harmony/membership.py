"""Which notes belong to their chord, and what the others are doing there."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from passagework.analysis.harmony.result import NonChordKind
from passagework.score.piece import Note

STEP = 2
"""Semitones of the largest step."""


class Neighbours:
    """For every note, what its voice plays just before and after it."""

    def __init__(self, notes: Sequence[Note]) -> None:
        """`notes` in order; grace notes are left aside."""
        self.before: dict[str, Note] = {}
        self.after: dict[str, Note] = {}
        voices: dict[tuple[int, str], list[list[Note]]] = {}
        for note in notes:
            if note.grace or note.cue:
                continue
            groups = voices.setdefault((note.staff, note.voice), [])
            if groups and groups[-1][0].onset == note.onset:
                groups[-1].append(note)
            else:
                groups.append([note])
        for groups in voices.values():
            for one, two in pairwise(groups):
                for note in one:
                    self.after[note.id] = _nearest(note, two)
                for note in two:
                    self.before[note.id] = _nearest(note, one)


def _nearest(note: Note, others: list[Note]) -> Note:
    return min(others, key=lambda o: (abs(o.midi - note.midi), o.midi))


def _step(one: Note, two: Note) -> int:
    """+1 or -1 for a step up or down from `one` to `two`, 0 for anything else."""
    moved = two.midi - one.midi
    if abs(two.pitch.diatonic - one.pitch.diatonic) > 1 or not 0 < abs(moved) <= STEP:
        return 0
    return 1 if moved > 0 else -1


def kind_of(
    note: Note,
    near: Neighbours,
    held_in: bool,
    strong: bool,
    next_tones: frozenset[int],
    is_pedal: bool,
) -> NonChordKind:
    """What a note outside the chord is.

    `held_in`: it began before the chord; `strong`: it is struck on a beat; `next_tones`: pitch
    classes of the next chord; `is_pedal`: it is the bass under a chord it does not belong to.
    """
    if note.grace:
        return "ornament"
    before, after = near.before.get(note.id), near.after.get(note.id)
    away = _step(note, after) if after else 0
    if held_in:
        return "suspension" if away else ("pedal" if is_pedal else "")
    if is_pedal and not away:
        return "pedal"
    if before is not None and after is not None:
        towards = _step(before, note)
        if before.midi == note.midi and away and strong:
            return "suspension"
        if towards and away:
            return "passing" if towards == away else "neighbour"
        if after.midi == note.midi and note.midi % 12 in next_tones:
            return "anticipation"
        if towards and not away and (after.midi - note.midi) * towards < 0:
            return "escape"
    if away:
        return "appoggiatura"
    return ""
