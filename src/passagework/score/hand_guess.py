"""Which hand plays a note: words and staves say it, and where they do not, the easiest sharing does.

Words such as *m.s.* come first. A voice that stays on one staff belongs to that staff's hand. A voice that
changes staff within a bar (a figure running through both staves) belongs to one hand if the other hand has
enough to do at that moment or a beam joins it; else, and for middle staves, for both hands on one staff
and for chords that no hand can take, the search of `hand_search` shares the notes, with the staff as
one reason among others.

The result carries how sure it is: 1 for what the staves say without conflict, down to 0.5.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise

from passagework.score.hand_links import Heard
from passagework.score.hand_search import FORBIDDEN, share_notes
from passagework.score.hand_words import notes_named
from passagework.score.piece import Note, Side, Words
from passagework.score.warnings import Warnings

WIDE = 16
"""Semitones that one hand takes at most at once; a tenth, black to white."""

CROSSING_SURE = 0.7
"""How sure a crossing voice is given to the hand that it lives with."""

BOTH_SIGNS_SURE = 0.85
"""The same where a beam joins it and the other hand is taken."""

WORDS_SURE = 0.95
"""How sure words are followed."""

SEARCH_SURE = 0.8
"""How sure the search can be at most."""

ONE_HAND_SURE = 0.6
"""How sure a part on a single staff is given to one hand."""

STAFF_COST = 2.5
"""What it costs in the search to give a note to the hand of the other staff: more than a line that
changes hands, less than a chord no hand can take (`hand_costs.WEIGHTS` is the scale)."""

TAKEN = 0.5
"""Share of a crossing voice's notes at which its own hand must be busier than the other, to lose it."""

CLASH_COST = 0.3
"""The same where two voices of the staff cannot both be its hand's."""

TOO_WIDE = 19
"""Semitones of a chord, not rolled, of which the other hand must take a note: two more than a tenth and
an inner fingering leave to the largest hands."""

BOTH_NEEDED = 0.05
"""Share of chords that no hand can take from which a single staff is read as both hands'."""

UNSURE_WORTH_SAYING = 0.65

LEFT_BELOW = 55
"""Median pitch below which a single staff is the left hand's: the G that both hands reach with ease."""

HELD_BACK = 4
"""Quarters looked back for a note that is still held."""


def assign_hands(
    notes: Sequence[Note],
    divisions: int,
    staves: int,
    warnings: Warnings,
    labels: Sequence[str],
    words: Sequence[Words] = (),
) -> list[tuple[Side, float]]:
    """(hand, how sure) for each of `notes`, in order of onset; `divisions` ticks make a quarter.

    `labels` are the printed numbers of the bars, `words` what is printed about the music.
    """
    times = [(ticks(n.onset, divisions), ticks(n.end, divisions)) for n in notes]
    if staves == 1:
        sides, free = _one_staff(notes, times, warnings)
    else:
        sides = [_by_staff(note, staves) for note in notes]
        free = {i: STAFF_COST if staves % 2 == 0 else 0.0
                for i, n in enumerate(notes) if n.staff not in {1, staves}}  # fmt: skip
        free |= _crossing_voices(notes, times, divisions, sides)
        free |= _too_wide(notes, sides)
    named = notes_named(notes, words, [side for side, _ in sides])
    for i, side in named.items():
        sides[i] = side, WORDS_SURE
        free.pop(i, None)
    _search(notes, times, divisions, free, sides)
    _say(notes, staves, sides, named, warnings, labels)
    return sides


def _say(
    notes: Sequence[Note],
    staves: int,
    sides: Sequence[tuple[Side, float]],
    named: dict[int, Side],
    warnings: Warnings,
    labels: Sequence[str],
) -> None:
    if staves == 1:
        return
    if staves > 2:
        warnings.add("the middle staves are shared between the hands by reach, which is a guess")
    for bar in sorted({notes[i].bar for i in named}):
        warnings.add("the words at the notes say which hand plays them", labels[bar])
    unsure = sorted({n.bar for n, (_, sure) in zip(notes, sides, strict=True)
                     if sure < UNSURE_WORTH_SAYING and n.staff in {1, staves}})  # fmt: skip
    for bar in unsure:
        warnings.add("which hand plays a figure that crosses the staves is a guess", labels[bar])


def _search(
    notes: Sequence[Note],
    times: Sequence[tuple[int, int]],
    divisions: int,
    free: dict[int, float],
    sides: list[tuple[Side, float]],
) -> None:
    """Share the notes in `free` (index to the cost of leaving their staff's hand) by the search.

    Only the bars that hold them are searched, with the ones before and after.
    """
    if not free:
        return
    rows: dict[int, list[int]] = {}
    for i, note in enumerate(notes):
        if not note.grace:
            rows.setdefault(note.bar, []).append(i)
    wanted = sorted({notes[i].bar + d for i in free for d in (-1, 0, 1)} & rows.keys())
    run: list[int] = []
    for place, bar in enumerate(wanted):
        run += rows[bar]
        if place + 1 == len(wanted) or wanted[place + 1] > bar + 1:
            heard = [
                _heard(notes[i].midi, times[i], divisions, free.get(i), sides[i][0]) for i in run
            ]
            for i, (side, sure) in zip(run, share_notes(heard), strict=True):
                if i in free:
                    sides[i] = side, max(0.5, min(sure, SEARCH_SURE))
            run = []
    _graces(notes, free, sides)


def _heard(
    midi: int, time: tuple[int, int], divisions: int, leave: float | None, side: Side
) -> Heard:
    cost = FORBIDDEN if leave is None else leave
    left, right = (0.0, cost) if side == "left" else (cost, 0.0)
    return Heard(time[0] / divisions, time[1] / divisions, midi, left, right)


def _graces(notes: Sequence[Note], free: dict[int, float], sides: list[tuple[Side, float]]) -> None:
    """Free grace notes go with the note they lean on."""
    following: dict[str, tuple[Side, float]] = {}
    for i in range(len(notes) - 1, -1, -1):
        note = notes[i]
        if not note.grace:
            following[note.voice] = sides[i]
        elif i in free:
            sides[i] = following.get(note.voice, sides[i])


def _too_wide(notes: Sequence[Note], sides: Sequence[tuple[Side, float]]) -> dict[int, float]:
    """Notes of chords on one staff that no hand can take, where the other hand strikes nothing.

    Where two voices clash so, either may be the other hand's for the whole bar.
    """
    free: dict[int, float] = {}
    clashing: set[tuple[int, str]] = set()
    for group in _struck(notes):
        if len({sides[i][0] for i in group}) > 1 or any(notes[i].arpeggio for i in group):
            continue
        if notes[group[-1]].midi - notes[group[0]].midi > TOO_WIDE:
            free |= dict.fromkeys(group, STAFF_COST)
            voices = {(notes[i].bar, notes[i].voice) for i in group}
            clashing |= voices if len(voices) > 1 else set()
    if clashing:
        free |= {i: CLASH_COST for i, n in enumerate(notes) if (n.bar, n.voice) in clashing}
    return free


def _struck(notes: Sequence[Note]) -> list[list[int]]:
    """Indices of the notes struck together, lowest first, without grace notes."""
    groups: dict[Fraction, list[int]] = {}
    for i, note in enumerate(notes):
        if not note.grace:
            groups.setdefault(note.onset, []).append(i)
    return [sorted(group, key=lambda i: notes[i].midi) for group in groups.values()]


def ticks(position: Fraction, divisions: int) -> int:
    """`position` in whole ticks; `divisions` makes it whole."""
    return position.numerator * divisions // position.denominator


def _by_staff(note: Note, staves: int) -> tuple[Side, float]:
    return ("right" if note.staff <= staves // 2 or note.staff == 1 else "left"), 1.0


def _one_staff(
    notes: Sequence[Note], times: Sequence[tuple[int, int]], warnings: Warnings
) -> tuple[list[tuple[Side, float]], dict[int, float]]:
    """One staff is one hand's, unless it holds more at once than a hand can take."""
    middle = sorted(n.midi for n in notes)[len(notes) // 2] if notes else 60
    side: Side = "right" if middle >= LEFT_BELOW else "left"
    sides: list[tuple[Side, float]] = [(side, ONE_HAND_SURE)] * len(notes)
    groups = _struck(notes)
    beyond = sum(_beyond(notes, times, before, group)
                 for before, group in zip([[], *groups], groups, strict=False))  # fmt: skip
    if beyond > BOTH_NEEDED * len(groups):
        warnings.add("the music is on one staff and is shared between the hands, which is a guess")
        return sides, dict.fromkeys(range(len(notes)), 0.0)
    warnings.add(f"the music is on one staff and is given to the {side} hand")
    return sides, {}


def _beyond(
    notes: Sequence[Note],
    times: Sequence[tuple[int, int]],
    before: Sequence[int],
    group: Sequence[int],
) -> bool:
    """Whether what sounds where `group` is struck is too wide for one hand."""
    held = [i for i in before if times[i][1] > times[group[0]][0]]
    pitches = [notes[i].midi for i in (*held, *group)]
    return max(pitches) - min(pitches) > WIDE


def _crossing_voices(
    notes: Sequence[Note],
    times: Sequence[tuple[int, int]],
    divisions: int,
    sides: list[tuple[Side, float]],
) -> dict[int, float]:
    """Give each voice that uses both outer staves in a bar to the hand that plays it.

    Returns the notes that may be either hand's, with what it costs to leave their staff's hand.
    """
    groups: dict[tuple[int, str], list[int]] = {}
    for index, note in enumerate(notes):
        groups.setdefault((note.bar, note.voice), []).append(index)
    home = _homes(notes, sides)
    crossing = {i for g in groups.values() if _crosses(g, sides) for i in g}
    free: dict[int, float] = {}
    busy = _Busy(notes, times, divisions, sides, crossing)
    for (_, voice), group in groups.items():
        if not _crosses(group, sides):
            continue
        own = home.get(voice, "right")
        other: Side = "left" if own == "right" else "right"
        load = {side: sum(busy.near(side, i) for i in group) for side in (own, other)}
        if load[own] - load[other] > TAKEN * len(group):
            own, other = other, own
        strays = [i for i in group if sides[i][0] != own]
        taken = sum(busy.near(other, i) for i in strays)
        fits = _fits_one_hand(notes, group) and not any(busy.too_wide(own, i) for i in strays)
        is_taken, beamed = 2 * taken >= len(strays), _beamed_through(notes, group, sides)
        if fits and (is_taken or beamed):
            both = BOTH_SIGNS_SURE if is_taken and beamed else CROSSING_SURE
            for i in group:
                sides[i] = (own, both if i in strays else 1.0)
        else:
            free |= dict.fromkeys(group, STAFF_COST)
    return free


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
