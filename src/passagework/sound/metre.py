"""What is counted: the beats of every bar, their accents, and the count-in.

A bar's beats are those of its metre (`TimeSignature.beat`: dotted in compound metres, the printed value in additive and
irregular ones). A pickup is the end of a bar, so its first note need not be a one; two short bars that make up a
full one (a bar split by a repeat) count through. A bar longer than its metre is counted on without a second accent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from passagework.score.piece import Bar, TimeSignature
from passagework.sound.performance import Accent


@dataclass(frozen=True, slots=True)
class Pulse:
    """A beat within a bar: quarters from where the bar begins."""

    offset: Fraction
    count: int
    accent: Accent


def pulses(time: TimeSignature, start: Fraction, length: Fraction) -> list[Pulse]:
    """Beats of a bar of `length` quarters that begins `start` quarters into its metre."""
    beat = time.beat
    unit = Fraction(4, time.beat_type)
    groups = {g * unit for g in accumulate(time.beats)} if len(time.beats) > 1 else set()
    found = []
    index = -(-start // beat)
    while index * beat < start + length:
        place = index * beat
        accent: Accent = 2 if place == 0 else 1 if place in groups and place < time.length else 0
        found.append(Pulse(place - start, int(index) + 1, accent))
        index += 1
    return found


def entries(bars: Sequence[Bar], order: Sequence[int]) -> list[Fraction]:
    """For every bar of the playing `order` how far into its metre it begins, in quarters."""
    found: list[Fraction] = []
    before: Bar | None = None
    for index in order:
        bar = bars[index]
        missing = bar.time.length - bar.length
        second_half = (
            before is not None
            and not before.pickup
            and found[-1] == 0
            and before.time == bar.time
            and before.length == missing
        )
        late = missing > 0 and (bar.pickup or second_half)
        found.append(missing if late else Fraction(0))
        before = bar
    return found


def count_in_bars(bar: Bar, count: int) -> list[tuple[Fraction, Fraction]]:
    """(length, start within the metre) of the bars of a count-in of `count` full bars before `bar`.

    Before a pickup the bar it belongs to is begun as well: in 4/4 with a pickup of one beat, one bar of
    count-in is "1 2 3 4, 1 2 3".
    """
    if count <= 0:
        return []
    full = bar.time.length
    rows = [(full, Fraction(0))] * count
    if bar.pickup and bar.length < full:
        rows.append((full - bar.length, Fraction(0)))
    return rows
