"""Which hand plays a note: the staff says it, unless a voice crosses the staves or a hand is too small.

A voice that stays on one staff belongs to that staff's hand. A voice that changes staff within a bar
(a figure running through both staves) belongs to one hand if the other hand has enough to do at that
moment, and is shared between the hands where both are free. Chords wider than a hand lend their
outermost notes to the other hand only if that hand is idle and near.

The result carries how sure it is: 1 for what the staves say without conflict, down to 0.5.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from passagework.score.piece import Note, Side
from passagework.score.warnings import Warnings

WIDE = 16
"""Semitones that one hand takes at most at once; a tenth, black to white."""

CROSSING_SURE = 0.7
"""How sure a crossing voice is given to the hand that it lives with."""

SHARED_SURE = 0.6
"""How sure a crossing voice is dealt out between two free hands."""

MIDDLE_SURE = 0.6
"""How sure the notes of a middle staff are given to the nearer hand."""

ONE_STAFF_SURE = 0.6
"""How sure a part on a single staff is split (or not) between the hands."""

UNSURE_WORTH_SAYING = 0.65

HELD_BACK = 4
"""Quarters looked back for a note that is still held."""


def assign_hands(
    notes: Sequence[Note], divisions: int, staves: int, warnings: Warnings, labels: Sequence[str]
) -> list[tuple[Side, float]]:
    """(hand, how sure) for each of `notes`, in order of onset; `divisions` ticks make a quarter.

    `labels` are the printed numbers of the bars.
    """
    if staves == 1:
        return _one_staff(notes, warnings)
    sides: list[tuple[Side, float]] = [_by_staff(note, staves) for note in notes]
    times = [(ticks(n.onset, divisions), ticks(n.end, divisions)) for n in notes]
    _middle_staves(notes, times, staves, sides)
    _crossing_voices(notes, times, divisions, sides)
    if staves > 2:
        warnings.add("the middle staves are shared between the hands by pitch, which is a guess")
    unsure = sorted({n.bar for n, (_, sure) in zip(notes, sides, strict=True)
                     if sure < UNSURE_WORTH_SAYING and n.staff in {1, staves}})  # fmt: skip
    for bar in unsure:
        warnings.add("which hand plays a figure that crosses the staves is a guess", labels[bar])
    return sides


def ticks(position: Fraction, divisions: int) -> int:
    """`position` in whole ticks; `divisions` makes it whole."""
    return position.numerator * divisions // position.denominator


def _by_staff(note: Note, staves: int) -> tuple[Side, float]:
    return ("right" if note.staff <= staves // 2 or note.staff == 1 else "left"), 1.0


def _one_staff(notes: Sequence[Note], warnings: Warnings) -> list[tuple[Side, float]]:
    """One staff: one hand, unless it holds more at once than a hand can take."""
    split: list[tuple[Side, float]] = []
    middle = sorted(n.midi for n in notes)[len(notes) // 2] if notes else 60
    side: Side = "right" if middle >= 55 else "left"
    warnings.add(f"the music is on one staff and is given to the {side} hand")
    onsets: dict[Fraction, list[int]] = {}
    for index, note in enumerate(notes):
        onsets.setdefault(note.onset, []).append(index)
        split.append((side, ONE_STAFF_SURE))
    for group in onsets.values():
        pitches = sorted(notes[i].midi for i in group)
        if pitches[-1] - pitches[0] > WIDE:
            gap = max(range(1, len(pitches)), key=lambda k: pitches[k] - pitches[k - 1])
            border = pitches[gap]
            for i in group:
                split[i] = ("right" if notes[i].midi >= border else "left"), ONE_STAFF_SURE
    return split


def _middle_staves(
    notes: Sequence[Note],
    times: Sequence[tuple[int, int]],
    staves: int,
    sides: list[tuple[Side, float]],
) -> None:
    """Notes of staves between the outer two go to the hand whose notes are nearer in pitch and time."""
    if staves < 3:
        return
    outer: dict[Side, list[int]] = {"right": [], "left": []}
    for index, note in enumerate(notes):
        if note.staff == 1:
            outer["right"].append(index)
        elif note.staff == staves:
            outer["left"].append(index)
    onsets = {side: [times[i][0] for i in rows] for side, rows in outer.items()}
    for index, note in enumerate(notes):
        if note.staff in {1, staves}:
            continue
        far = {}
        for side, rows in outer.items():
            at = bisect_left(onsets[side], times[index][0])
            near = rows[max(0, at - 2) : at + 3]
            far[side] = min((abs(notes[i].midi - note.midi) for i in near), default=60)
        sides[index] = ("right" if far["right"] < far["left"] else "left"), MIDDLE_SURE


def _crossing_voices(
    notes: Sequence[Note],
    times: Sequence[tuple[int, int]],
    divisions: int,
    sides: list[tuple[Side, float]],
) -> None:
    """Give each voice that uses both outer staves in a bar to the hand, or the hands, that play it."""
    groups: dict[tuple[int, str], list[int]] = {}
    for index, note in enumerate(notes):
        groups.setdefault((note.bar, note.voice), []).append(index)
    home = _homes(notes, sides)
    crossing = {i for g in groups.values() if _crosses(g, sides) for i in g}
    busy = _Busy(notes, times, divisions, sides, crossing)
    for (_, voice), group in groups.items():
        if not _crosses(group, sides):
            continue
        own = home.get(voice, "right")
        other: Side = "left" if own == "right" else "right"
        strays = [i for i in group if sides[i][0] != own]
        taken = sum(busy.near(other, i) for i in strays)
        fits = _fits_one_hand(notes, group) and not any(busy.too_wide(own, i) for i in strays)
        if fits and (2 * taken >= len(strays) or _beamed_through(notes, group, sides)):
            for i in group:
                sides[i] = (own, 1.0 if i not in strays and taken else CROSSING_SURE)
        else:
            for i in group:
                sides[i] = (sides[i][0], SHARED_SURE if fits else CROSSING_SURE)


def _crosses(group: Sequence[int], sides: Sequence[tuple[Side, float]]) -> bool:
    return len({sides[i][0] for i in group}) > 1


def _homes(notes: Sequence[Note], sides: Sequence[tuple[Side, float]]) -> dict[str, Side]:
    """The hand whose staff each voice uses most."""
    counts: dict[str, Counter[Side]] = {}
    for note, (side, _) in zip(notes, sides, strict=True):
        counts.setdefault(note.voice, Counter())[side] += 1
    return {voice: counter.most_common(1)[0][0] for voice, counter in counts.items()}


def _fits_one_hand(notes: Sequence[Note], group: Sequence[int]) -> bool:
    """Whether no chord of the group is wider than a hand."""
    chords: dict[int, list[int]] = {}
    for i in group:
        chords.setdefault(notes[i].chord, []).append(notes[i].midi)
    return all(max(c) - min(c) <= WIDE for c in chords.values())


def _beamed_through(
    notes: Sequence[Note], group: Sequence[int], sides: Sequence[tuple[Side, float]]
) -> bool:
    """Whether a beam joins the notes where the voice changes staff: an engraver's sign of one hand."""
    changes = [
        (a, b)
        for a, b in pairwise(group)  # in order of onset, as `notes` are
        if sides[a][0] != sides[b][0] and notes[a].chord != notes[b].chord
    ]
    joined = sum(
        "continue" in notes[b].beams[:1] or "end" in notes[b].beams[:1] for _, b in changes
    )
    return bool(changes) and joined == len(changes) and len(changes) <= 2


class _Busy:
    """What each hand has to play besides the voices in question, searchable by time."""

    def __init__(
        self,
        notes: Sequence[Note],
        times: Sequence[tuple[int, int]],
        divisions: int,
        sides: Sequence[tuple[Side, float]],
        left_out: set[int],
    ) -> None:
        self._notes = notes
        self._times = times
        self._back = HELD_BACK * divisions
        self._rows: dict[Side, list[int]] = {"left": [], "right": []}
        for index in range(len(notes)):
            if index not in left_out:
                self._rows[sides[index][0]].append(index)
        self._onsets = {side: [times[i][0] for i in rows] for side, rows in self._rows.items()}

    def _window(self, side: Side, low: int, high: int) -> list[int]:
        onsets = self._onsets[side]
        return self._rows[side][bisect_left(onsets, low) : bisect_right(onsets, high)]

    def near(self, side: Side, index: int) -> bool:
        """Whether the hand strikes or holds something of its own while the note begins."""
        onset = self._times[index][0]
        rows = self._window(side, onset - self._back, onset)
        return any(self._times[i][1] > onset or self._times[i][0] == onset for i in rows)

    def too_wide(self, side: Side, index: int) -> bool:
        """Whether the note with what the hand strikes at the same time is wider than a hand."""
        onset = self._times[index][0]
        rows = self._window(side, onset, onset)
        return any(abs(self._notes[i].midi - self._notes[index].midi) > WIDE for i in rows)
