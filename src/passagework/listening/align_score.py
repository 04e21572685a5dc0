"""The strands of a piece that a student may be playing, as arrays to search.

A *strand* is the row of events (`passagework.listening.align_events`) of both hands or of one hand alone; the strands one after another, with
gaps between them that no path can cross, are the *states* of the search.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import KEYS, Event, Shaken, early, unasked
from passagework.score.piece import Piece

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

STRANDS = ("both", "right", "left")
"""Names of the strands by their number."""

LONGEST_SKIP = 5
"""Events that a path may move on at one stroke; further is a jump."""

GRACE_S = 0.15
ARPEGGIO_S = 0.2
"""Seconds that each grace note, and a rolled chord, may take."""


@dataclass(frozen=True)
class States:
    """The strands one after another, as arrays over states; -1 or 0 in the gaps."""

    event: Ints
    strand: Ints
    required: Floats
    """Keys that are to be struck, states by keys, 1 or 0."""
    optional: Floats
    """Keys of grace notes and ornaments."""
    likely: Floats
    """Keys of a trill on a long note that sounds, though no sign asks for one."""
    size: Floats
    """Keys required."""
    restriking: Floats
    """1 where an ornament strikes its keys again and again."""
    spread: Floats
    """Seconds that the keys of the event may take beyond those of a chord: for grace notes and arpeggios."""
    bar_start: NDArray[np.bool_]
    links: Ints
    """Rows (from state, to state) that the repeats, endings and jumps of the page allow."""


def states_of(piece: Piece, events: list[Event], spans: Sequence[Shaken]) -> States:
    """The strands of `events`; a hand that has all the notes, or none, needs no strand of its own."""
    rows: list[tuple[int, int]] = []
    for strand, name in enumerate(STRANDS):
        mine = [
            e.index
            for e in events
            if strand == 0 or any(getattr(u, name) and not u.loose for u in e.units)
        ]
        if strand and (not mine or all(getattr(u, name) for e in events for u in e.units)):
            continue
        rows += [(e, strand) for e in mine] + [(-1, -1)] * LONGEST_SKIP
    event = np.array([r[0] for r in rows], dtype=np.int64)
    strand_of = np.array([r[1] for r in rows], dtype=np.int64)
    required = np.zeros((len(rows), KEYS), np.float32)
    optional = np.zeros((len(rows), KEYS), np.float32)
    restriking = np.zeros(len(rows), np.float32)
    likely = np.zeros((len(rows), KEYS), np.float32)
    spread = np.zeros(len(rows), np.float32)
    for state, (index, strand) in enumerate(rows):
        if index < 0:
            continue
        name = STRANDS[strand]
        units = [u for u in events[index].units if strand == 0 or getattr(u, name)]
        plain = [u for u in units if not u.grace and not u.loose] or units
        required[state, [u.pitch for u in plain]] = 1
        optional[state, [u.pitch for u in units if u.grace or u.loose]] = 1
        spread[state] = GRACE_S * sum(u.grace > 0 for u in units)
        if any(note.arpeggio in {"up", "down"} for u in units for note in u.notes):
            spread[state] += ARPEGGIO_S
    starts = [np.flatnonzero(strand_of == strand) for strand in range(len(STRANDS))]
    for spread_over, table, again in (
        (spans, optional, True),
        (early(events), optional, False),
        (unasked(piece, events), likely, False),
    ):
        for span in spread_over:
            for strand in (0, STRANDS.index(span.hand)):
                own = starts[strand]
                low, high = np.searchsorted(event[own], (span.first, span.last + 1))
                if low < high:
                    row = slice(own[low], own[high - 1] + 1)
                    table[row, list(span.keys)] = 1
                    restriking[row] = np.maximum(restriking[row], np.float32(again))
    optional[required > 0] = 0
    likely[(required > 0) | (optional > 0)] = 0
    bars = np.array([events[e].bar if e >= 0 else -1 for e, _ in rows])
    bar_start = np.append(True, bars[1:] != bars[:-1])
    links = _links(piece, strand_of, bars)
    return States(
        event,
        strand_of,
        required,
        optional,
        likely,
        required.sum(1),
        restriking,
        spread,
        bar_start,
        links,
    )


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
