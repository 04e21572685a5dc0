"""Loudness along a piece, for each staff: what is marked, and what is assumed between the marks.

A sign holds until the next. A crescendo or diminuendo leads in equal steps to the sign that follows it, where one
stands near its end and lies in its direction; else it is assumed to be worth `ASSUMED_STEPS`, and the level
from there on is marked as assumed.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from passagework.analysis.loudness_events import Accent, LoudnessEvent, loudness_events
from passagework.analysis.loudness_levels import (
    ACCENT_STEPS,
    ASSUMED_LEVEL,
    LOUDEST,
    SOFTEST,
    level_name,
    velocity,
)
from passagework.analysis.marks import Mark, read_marks
from passagework.score.piece import Note, Piece, Position, sort_key

Source = Literal["marked", "assumed"]

ASSUMED_STEPS = 1.0
"""Signs that a hairpin or *cresc.* is worth where no sign says where it leads; *poco* halves it."""

STEP = 1.0
"""Signs that *più f* or *meno f* move the level; *poco* half as much, *molto* half as much again."""

MOST_DRIFT = 2.0
"""Signs that assumed changes may lead away from the last sign, so that many hairpins do not add up."""

WORD_BARS = 4
"""Bars that *cresc.* or *dim.* is assumed to last where nothing else is written."""
GRADUAL_BARS = 12
"""The same for *poco a poco*."""


@dataclass(frozen=True, slots=True)
class LoudnessSpan:
    """Loudness from `onset` to the next span, in a straight line from `start` to `stop` (levels)."""

    onset: Position
    end: Position
    start: float
    stop: float
    source: Source
    id: str = ""
    """The mark that it comes from, ``""`` where nothing is marked."""
    bar: int = 0
    """Index of the bar of that mark."""


@dataclass(frozen=True, slots=True)
class Loudness:
    """Loudness at one position."""

    level: float
    velocity: int
    source: Source
    id: str
    bar: int
    """Index of the bar whose mark gives the level."""

    @property
    def sign(self) -> str:
        """The level as a musician says it: ``"mf"``, ``"between p and mp"``."""
        return level_name(self.level)


@dataclass(frozen=True)
class LoudnessCurve:
    """Loudness of every staff (1 is the upper one) over the piece."""

    spans: dict[int, tuple[LoudnessSpan, ...]]
    accents: dict[tuple[int, Position], Accent] = field(default_factory=dict)
    _onsets: dict[int, list[float]] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Keep the onsets for bisection."""
        rows = {staff: [sort_key(s.onset) for s in spans] for staff, spans in self.spans.items()}
        object.__setattr__(self, "_onsets", rows)

    def span_at(self, position: Position, staff: int = 1) -> LoudnessSpan:
        """The span in force; a staff that the piece does not have answers for the first."""
        staff = staff if staff in self.spans else 1
        at = bisect_right(self._onsets[staff], sort_key(position)) - 1
        return self.spans[staff][max(at, 0)]

    def span_before(self, position: Position, staff: int = 1) -> LoudnessSpan | None:
        """The span that ends at or holds the moment just before `position`; None at the start."""
        staff = staff if staff in self.spans else 1
        at = bisect_left(self._onsets[staff], sort_key(position)) - 1
        return self.spans[staff][at] if at >= 0 else None

    def at(self, position: Position, staff: int = 1) -> Loudness:
        """Loudness at `position` in `staff`, accents apart."""
        span = self.span_at(position, staff)
        level = span.start
        if span.stop != span.start and span.end > span.onset:
            share = float((position - span.onset) / (span.end - span.onset))
            level += (span.stop - span.start) * min(1.0, max(0.0, share))
        return Loudness(level, velocity(level), span.source, span.id, span.bar)

    def of(self, note: Note) -> Loudness:
        """Loudness of `note`, with sf, fp and the accent signs at the note itself."""
        plain = self.at(note.onset, note.staff)
        level = plain.level
        accent = self.accents.get((note.staff, note.onset))
        if accent is not None:
            level = accent.level if accent.level is not None else level + accent.steps
        level += max((ACCENT_STEPS.get(a, 0.0) for a in note.articulations), default=0.0)
        level = max(SOFTEST, min(LOUDEST, level))
        return Loudness(level, velocity(level), plain.source, plain.id, plain.bar)


def loudness_curve(piece: Piece, marks: Sequence[Mark] | None = None) -> LoudnessCurve:
    """Loudness of `piece` from its signs, hairpins and words; `marks` as `read_marks` gives them."""
    events, accents = loudness_events(piece, read_marks(piece) if marks is None else marks)
    staves = range(1, max(piece.staves, 1) + 1)
    spans = {
        staff: _Staff(piece, [e for e in events if staff in e.staves]).spans() for staff in staves
    }
    rows: dict[tuple[int, Position], Accent] = {}
    for accent in accents:
        rows[accent.staff, accent.onset] = accent
    for accent in accents:
        # an accent sign between the staves is for both hands unless the other staff has its own
        for staff in staves:
            rows.setdefault((staff, accent.onset), accent)
    return LoudnessCurve(spans, rows)


class _Staff:
    """Walks through the events of one staff."""

    def __init__(self, piece: Piece, events: list[LoudnessEvent]) -> None:
        self.piece, self.events = piece, events
        self.found: list[LoudnessSpan] = []
        self.at = Fraction(0)
        self.level, self.signed = ASSUMED_LEVEL, ASSUMED_LEVEL
        self.source: Source = "assumed"
        self.id, self.bar = "", 0
        self.next_level = self._next_levels()

    def spans(self) -> tuple[LoudnessSpan, ...]:
        for index, event in enumerate(self.events):
            self._hold(event.onset)
            if event.kind == "change":
                self._change(index, event)
                continue
            if event.kind == "level":
                self.level, self.source = event.level, "marked"
            else:
                self.level = _bounded(self.level + event.direction * event.size * STEP)
                self.source = "assumed"
            self.signed = self.level
            self.id, self.bar = event.id, event.bar
        self._hold(self.piece.end)
        if not self.found:
            self._add(self.at, self.at, self.level, self.level, self.source)
        return tuple(self.found)

    def _next_levels(self) -> list[int | None]:
        """For every event the index of the next one that sets a level."""
        found: list[int | None] = [None] * len(self.events)
        last: int | None = None
        for index in range(len(self.events) - 1, -1, -1):
            found[index] = last
            if self.events[index].kind == "level":
                last = index
        return found

    def _add(
        self, onset: Position, end: Position, start: float, stop: float, source: Source
    ) -> None:
        self.found.append(LoudnessSpan(onset, end, start, stop, source, self.id, self.bar))

    def _hold(self, until: Position) -> None:
        if until > self.at:
            self._add(self.at, until, self.level, self.level, self.source)
            self.at = until

    def _change(self, index: int, event: LoudnessEvent) -> None:
        start = max(event.onset, self.at)
        end = self._end(index, event)
        if end <= start:
            return
        target, source = self._target(index, event, end)
        self._add(start, end, self.level, target, source)
        self.at, self.level, self.source = end, target, source

    def _end(self, index: int, event: LoudnessEvent) -> Position:
        if event.end is not None:
            goal = self.next_level[index]
            while goal is not None and self.events[goal].onset <= event.onset:
                goal = self.next_level[goal]
            return event.end if goal is None else min(event.end, self.events[goal].onset)
        later = (self.events[k].onset for k in range(index + 1, len(self.events)))
        follow = next((onset for onset in later if onset > event.onset), self.piece.end)
        bars = GRADUAL_BARS if event.gradual else WORD_BARS
        last = self.piece.bars[min(event.bar + bars, len(self.piece.bars) - 1)]
        limit = last.onset if last.index == event.bar + bars else last.end
        return min(follow, limit)

    def _target(self, index: int, event: LoudnessEvent, end: Position) -> tuple[float, Source]:
        if event.until is not None:
            return event.until, "marked"
        goal = self.next_level[index]
        if goal is not None:
            sign = self.events[goal]
            between = self.events[index + 1 : goal]
            whole = self.piece.bars[min(event.bar, len(self.piece.bars) - 1)].time.length
            one_way = all(e.kind == "change" and e.direction == event.direction for e in between)
            near = sign.onset - end <= whole or bool(between)
            if one_way and near and (sign.level - self.level) * event.direction > 0:
                return self._share(event, end, between, sign), "marked"
        step = event.direction * event.size * ASSUMED_STEPS
        level = self.level + step
        drift = max(self.signed - MOST_DRIFT, min(self.signed + MOST_DRIFT, level))
        if (drift - self.level) * event.direction < 0:
            drift = self.level
        return _bounded(drift), "assumed"

    def _share(
        self, event: LoudnessEvent, end: Position, between: list[LoudnessEvent], sign: LoudnessEvent
    ) -> float:
        """Several changes on the way to one sign share the way by their lengths."""
        if not between:
            return sign.level
        mine = float(end - max(event.onset, self.at))
        rest = sum(float((e.end or sign.onset) - e.onset) for e in between)
        return self.level + (sign.level - self.level) * mine / max(mine + rest, 1e-9)


def _bounded(level: float) -> float:
    return max(SOFTEST, min(LOUDEST, level))
