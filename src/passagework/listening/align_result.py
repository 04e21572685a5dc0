"""From pairs of strokes and keys to the `Alignment`: passes, what is missing, what was meant."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from passagework.listening.align_events import Event, Unit
from passagework.listening.align_notes import Expected, Pair
from passagework.listening.align_runs import Run
from passagework.listening.align_score import STRANDS
from passagework.listening.alignment import Match, Missing, Pass, PassHand, Substitution
from passagework.listening.take import PlayedNote
from passagework.score.piece import Note

SILENT_HAND = 0.2
"""A hand of whose notes less than this share was struck did not play, where the other did."""

MEANT_S = 0.3
"""A wrong key was meant for a note that it is no further from than this, seconds."""

NEIGHBOURS = (1, 2, 12, 24)
"""Semitones between a written key and the one struck in its place: a neighbour, an accidental, an octave."""


def chosen(unit: Unit) -> list[Note]:
    """The notes of a unit, the one to be matched first: the longest, the upper staff's, the first on the page."""
    return sorted(unit.notes, key=lambda n: (-n.duration, n.staff))


def hand_of(
    pairs: Sequence[Pair], run: Run, events: Sequence[Event], span: tuple[int, int]
) -> PassHand:
    """Which hands played the places of `span` in the walk."""
    written = {"left": 0, "right": 0}
    played = {"left": 0, "right": 0}
    for place in range(span[0], span[1] + 1):
        for unit in events[run.events[place]].units:
            for note in unit.notes[:1]:
                written[note.hand] += not unit.grace
    for _, _, unit in pairs:
        played[unit.notes[0].hand] += not unit.grace
    right, left = (
        played[side] >= max(1, SILENT_HAND * written[side]) for side in ("right", "left")
    )
    if right == left:
        return "both"
    return "right" if right else "left"


def pass_of(pairs: Sequence[Pair], notes: Sequence[PlayedNote], hand: PassHand) -> Pass:
    """The pass that `pairs` make; they are not empty."""
    bars = [unit.notes[0].bar for _, _, unit in pairs]
    start = min(notes[s].onset for s, _, _ in pairs)
    end = max(notes[s].end for s, _, _ in pairs)
    return Pass(min(bars), max(bars), start, end, hand)


def missing_of(
    pairs: Sequence[Pair], run: Run, events: Sequence[Event], hand: PassHand, number: int
) -> list[tuple[Missing, int, Unit]]:
    """What the pass left out between its first and last match, with the place in the walk."""
    struck = {(place, id(unit)) for _, place, unit in pairs}
    first, last = min(p for _, p, _ in pairs), max(p for _, p, _ in pairs)
    found = []
    for place in range(first, last + 1):
        strand = STRANDS[run.hands[place]]
        for unit in events[run.events[place]].units:
            if (place, id(unit)) in struck or unit.loose:
                continue
            sides = {note.hand for note in unit.notes}
            if any(name != "both" and name not in sides for name in (strand, hand)):
                continue
            found += [(Missing(note.id, number), place, unit) for note in unit.notes]
    return found


def substitutions_of(
    missing: Sequence[tuple[Missing, int, Unit]],
    extra: Sequence[int],
    rows: Sequence[Expected],
    notes: Sequence[PlayedNote],
    number: int,
) -> list[Substitution]:
    """Wrong keys with the notes they were meant for: each the nearest in time and keys, used once."""
    when = {(place, id(unit)): (at, slack) for at, slack, place, unit in rows}
    order = sorted(extra, key=lambda s: notes[s].onset)
    onsets = [notes[s].onset for s in order]
    options = []
    for row, (lost, place, unit) in enumerate(missing):
        if lost.note != chosen(unit)[0].id:
            continue
        at, _ = when[(place, id(unit))]
        for k in range(bisect_left(onsets, at - MEANT_S), len(order)):
            late = abs(onsets[k] - at)
            if onsets[k] > at + MEANT_S:
                break
            apart = abs(notes[order[k]].pitch - unit.pitch)
            if apart in NEIGHBOURS:
                options.append((late + 0.05 * NEIGHBOURS.index(apart), row, order[k]))
    taken: set[int] = set()
    filled: set[int] = set()
    found = []
    for _, row, stroke in sorted(options):
        if row in filled or stroke in taken:
            continue
        filled.add(row)
        taken.add(stroke)
        found.append(Substitution(missing[row][0].note, stroke, number))
    return sorted(found, key=lambda s: s.played)


def matches_of(pairs: Sequence[Pair], number: int) -> list[Match]:
    """The matches of a pass: one note for each stroke."""
    return [Match(chosen(unit)[0].id, stroke, number) for stroke, _, unit in pairs]
