"""Room for long runs of grace notes: the music waits for them.

A run in small print, from some half dozen notes on, is a little cadenza; nobody plays it in the corner of a beat. At the
piece's own tempo the time before it is made longer until every note has the time of a quick one. A metronome
does not wait, so at a steady tempo such runs are as fast as the beat asks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from passagework.analysis.tempo import TempoMap, TempoSpan
from passagework.score.piece import Position
from passagework.sound.grace_groups import GraceGroup
from passagework.sound.ornaments import QUICK_S

LONG = 6
"""Grace notes in a row from which on the music waits."""
LONG_SHARE = 0.8
"""Share of the time since the last attack that such a run takes."""

Room = tuple[Position, Position, float]
"""Onset, end, and how many times longer what is between takes."""


def with_room(tempi: TempoMap, groups: Sequence[GraceGroup]) -> TempoMap:
    """`tempi` slowed before long runs of grace notes; `tempi` itself where there is none."""
    rooms = _rooms(tempi, groups)
    if not rooms:
        return tempi
    cuts = {s.onset for s in tempi.spans} | {p for onset, end, _ in rooms for p in (onset, end)}
    spans: list[TempoSpan] = []
    at = 0
    for onset in sorted(cuts):
        while at < len(rooms) and rooms[at][1] <= onset:
            at += 1
        factor = rooms[at][2] if at < len(rooms) and rooms[at][0] <= onset else 1.0
        span = tempi.span_at(onset)
        seconds = 0.0
        if spans:
            last = spans[-1]
            seconds = last.seconds + float(onset - last.onset) * 60.0 / last.quarters_per_minute
        speed = span.quarters_per_minute / factor
        spans.append(replace(span, onset=onset, seconds=seconds, quarters_per_minute=speed))
    return TempoMap(tuple(spans), tempi.warnings)


def _rooms(tempi: TempoMap, groups: Sequence[GraceGroup]) -> list[Room]:
    found: list[Room] = []
    for group in sorted(groups, key=lambda g: g.onset):
        if len(group.strikes) < LONG or not group.before:
            continue
        onset = group.before[0].onset
        since = tempi.seconds(group.onset) - tempi.seconds(onset)
        factor = len(group.strikes) * QUICK_S / (LONG_SHARE * since)
        if factor > 1 and not (found and onset < found[-1][1]):
            found.append((onset, group.onset, factor))
    return found
