"""The piece as the aligner sees it: events, and the three strands of them that a student may be playing.

An *event* is all that begins at one position. A *unit* is one key to be struck there; it holds more than one note where two voices
share the key. A *strand* is the row of events of both hands or of one hand alone; their events in a row, with a gap between the strands that
no path can cross, are the *states* of the search.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from passagework.score.piece import Note, Piece

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

STRANDS = ("both", "right", "left")
"""Names of the strands by their number."""

LONGEST_SKIP = 5
"""Events that a path may move on at one stroke; further is a jump."""

KEYS = 128

UPPER = {"trill-mark", "shake", "wavy-line", "inverted-mordent", "turn", "inverted-turn", "delayed-turn", "delayed-inverted-turn", "haydn", "schleifer"}  # fmt: skip
LOWER = {"mordent", "turn", "inverted-turn", "delayed-turn", "delayed-inverted-turn", "haydn", "schleifer"}  # fmt: skip
"""Ornaments (MusicXML names) that strike the key above, or below, the written note."""

RESTRIKING = UPPER | LOWER | {"tremolo"}
"""Ornaments that strike the written key again."""


@dataclass(slots=True)
class Unit:
    """One key to be struck at one event."""

    event: int
    pitch: int
    notes: list[Note]
    grace: int = 0
    """0 for a note in time; else the place among the grace notes before the event, counted back from it."""

    @property
    def right(self) -> bool:
        """Whether the right hand has it (or a share in it)."""
        return any(note.hand == "right" for note in self.notes)

    @property
    def left(self) -> bool:
        """Whether the left hand has it (or a share in it)."""
        return any(note.hand == "left" for note in self.notes)


@dataclass(slots=True)
class Event:
    """All that begins at one position."""

    index: int
    quarters: float
    """Position, as a float: only to draw lines of time through."""
    bar: int
    units: list[Unit] = field(default_factory=list)
    ornaments: list[Note] = field(default_factory=list)
    """Notes whose signs ask for more strokes."""


@dataclass(frozen=True)
class States:
    """The strands one after another, as arrays over states; -1 or 0 in the gaps."""

    event: Ints
    strand: Ints
    required: Floats
    """Keys that are to be struck, states by keys, 1 or 0."""
    optional: Floats
    """Keys of grace notes and ornaments."""
    size: Floats
    """Keys required."""
    restriking: Floats
    """1 where an ornament strikes its keys again and again."""
    bar_start: NDArray[np.bool_]
    links: Ints
    """Rows (from state, to state) that the repeats, endings and jumps of the page allow."""


def events_of(piece: Piece) -> list[Event]:
    """Events in written order."""
    events: list[Event] = []
    last = None
    for note in piece.notes:
        tick = piece.ticks(note.onset)
        if tick != last:
            events.append(Event(len(events), float(note.onset), note.bar))
            last = tick
        event = events[-1]
        if not note.grace:
            event.bar = note.bar
        _place(event, note)
    for event in events:
        graces = [unit for unit in event.units if unit.grace]
        for back, unit in enumerate(reversed(graces)):
            unit.grace = back + 1
    return events


def _place(event: Event, note: Note) -> None:
    if any(o.kind in RESTRIKING for o in note.ornaments):
        event.ornaments.append(note)
    if note.grace:
        event.units.append(Unit(event.index, note.midi, [note], 1))
        return
    for unit in event.units:
        if unit.pitch == note.midi and not unit.grace:
            unit.notes.append(note)
            return
    event.units.append(Unit(event.index, note.midi, [note]))


def states_of(piece: Piece, events: list[Event]) -> States:
    """The strands of `events`; a hand that has all the notes, or none, needs no strand of its own."""
    rows: list[tuple[int, int]] = []
    for strand, name in enumerate(STRANDS):
        mine = [e.index for e in events if strand == 0 or any(getattr(u, name) for u in e.units)]
        if strand and (not mine or all(getattr(u, name) for e in events for u in e.units)):
            continue
        rows += [(e, strand) for e in mine] + [(-1, -1)] * LONGEST_SKIP
    event = np.array([r[0] for r in rows], dtype=np.int64)
    strand_of = np.array([r[1] for r in rows], dtype=np.int64)
    required = np.zeros((len(rows), KEYS), np.float32)
    optional = np.zeros((len(rows), KEYS), np.float32)
    restriking = np.zeros(len(rows), np.float32)
    for state, (index, strand) in enumerate(rows):
        if index < 0:
            continue
        name = STRANDS[strand]
        units = [u for u in events[index].units if strand == 0 or getattr(u, name)]
        plain = [u for u in units if not u.grace] or units
        required[state, [u.pitch for u in plain]] = 1
        optional[state, [u.pitch for u in units if u.grace]] = 1
        for note in events[index].ornaments:
            if strand and note.hand != name:
                continue
            restriking[state] = 1
            optional[state, ornament_keys(note)] = 1
    optional[required > 0] = 0
    bars = np.array([events[e].bar if e >= 0 else -1 for e, _ in rows])
    bar_start = np.append(True, bars[1:] != bars[:-1])
    links = _links(piece, strand_of, bars)
    return States(
        event, strand_of, required, optional, required.sum(1), restriking, bar_start, links
    )


def ornament_keys(note: Note) -> list[int]:
    """Keys beside the written one that its ornaments may strike."""
    kinds = {o.kind for o in note.ornaments}
    keys = []
    if kinds & UPPER:
        keys += [note.midi + 1, note.midi + 2]
    if kinds & LOWER:
        keys += [note.midi - 1, note.midi - 2]
    return [k for k in keys if 0 <= k < KEYS]


def _links(piece: Piece, strand: Ints, bars: NDArray[np.int64]) -> Ints:
    """Ways from the last events of a bar to the first ones of the bar that may follow it, other than the next bar."""
    order = piece.playing_order
    jumps = {(a, b) for a, b in pairwise(order) if b != a + 1}
    jumps |= {(a, a + 1) for a, _ in jumps}
    found = []
    for number in range(int(strand.max(initial=0)) + 1):
        mine = np.flatnonzero(strand == number)
        if not len(mine):
            continue
        for a, b in sorted(jumps):
            if b == a + 1:
                continue
            before = mine[bars[mine] <= a]
            after = mine[bars[mine] >= b]
            found += [(source, target) for source in before[-2:] for target in after[:2]]
    return np.array(found, dtype=np.int64).reshape(-1, 2)
