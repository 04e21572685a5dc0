"""The damper pedal: as marked, or with the harmony where the page asks for none.

It is changed in the legato manner (Banowetz, 1985): the foot comes up as the new harmony is struck and goes down again
just after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from passagework.listening.simulate.clock import Clock, Places
from passagework.listening.simulate.faults import PedalHeld, PedalLate
from passagework.listening.take import PedalHold
from passagework.score.piece import Position
from passagework.spots.context import Context

UP_S, UP_SD = 0.03, 0.015
"""Seconds after the attack at which the foot comes up."""
DOWN_S, DOWN_SD = 0.16, 0.03
"""Seconds after the attack at which it is down again."""
SHORTEST_S = 0.45
"""Harmonies that last less get no pedal of their own: the foot stays up."""
MOST_FOREIGN = 0.2
"""Share of notes outside the chord above which a player keeps the pedal up, so that lines stay clear. An assumption."""

Span = tuple[float, float, bool]
"""From, to (quarters of the pass), and whether the foot has to be lifted at its beginning."""


def pedal_spans(context: Context, places: Places) -> list[Span]:
    """Where the pedal is to be down in a pass."""
    piece = context.piece
    found: list[Span] = []
    source = _marked(context) if piece.pedals else _harmonies(context)
    for onset, end, joined in source:
        bar = piece.bar_at(onset)
        if bar.index not in places.of_bar:
            continue
        start = places.of_bar[bar.index] + float(onset - bar.onset)
        stop = min(start + float(end - onset), places.bound[bar.index], places.end)
        if stop > start:
            found.append((start, stop, joined))
    return found


def _marked(context: Context) -> Iterator[tuple[Position, Position, bool]]:
    last: Position | None = None
    for pedal in sorted(context.piece.pedals, key=lambda p: p.onset):
        cuts = [pedal.onset, *pedal.changes, pedal.end]
        for k in range(len(cuts) - 1):
            onset = cuts[k] if last is None else max(cuts[k], last)
            if cuts[k + 1] > onset:
                yield onset, cuts[k + 1], k > 0 or last == onset
                last = cuts[k + 1]


def _harmonies(context: Context) -> Iterator[tuple[Position, Position, bool]]:
    last: Position | None = None
    for chord in context.harmony.chords:
        foreign, own = len(chord.non_chord), len(chord.note_ids)
        lasting = context.seconds(chord.end) - context.seconds(chord.onset)
        if lasting < SHORTEST_S or own < 3 or foreign > MOST_FOREIGN * (own + foreign):
            continue
        yield chord.onset, chord.end, last == chord.onset
        last = chord.end


def play_pedal(
    spans: Sequence[Span],
    clock: Clock,
    held: Sequence[tuple[float, float, PedalHeld | PedalLate]],
    rng: np.random.Generator,
) -> list[PedalHold]:
    """The pedal of a pass, with the faults `held` (from, to in quarters of the pass, the fault)."""
    found: list[PedalHold] = []
    blurred = [(a, b) for a, b, fault in held if isinstance(fault, PedalHeld)]
    late = [(a, b, fault.seconds) for a, b, fault in held if isinstance(fault, PedalLate)]
    rows = [s for s in spans if not any(a <= s[0] < b for a, b in blurred)]
    rows = sorted(rows + [(a, b, True) for a, b in blurred])
    delayed = 0.0
    for start, stop, _ in rows:
        delay = next((x for a, b, x in late if a <= start < b), 0.0)
        ending = next((x for a, b, x in late if a <= stop < b), 0.0)
        down = clock.seconds(start) + max(float(rng.normal(DOWN_S, DOWN_SD)), UP_S) + delay
        up = clock.seconds(stop) + max(float(rng.normal(UP_S, UP_SD)), 0.0) + ending
        down = max(down, delayed + 0.04)
        if up > down:
            found.append(PedalHold(down, up))
            delayed = up
    return found
