"""Walks through a piece and settles its tempo place by place."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property

from passagework.analysis.marks import Mark
from passagework.analysis.tempo_events import TempoPlace, holds, tempo_places
from passagework.analysis.tempo_rows import (
    STEP_FACTOR,
    TempoRow,
    clean,
    held_longer,
    stepped,
    times,
)
from passagework.analysis.tempo_words import (
    ASSUMED_BEATS,
    ASSUMED_BEATS_PER_MINUTE,
    Attacks,
    TempoRange,
    attacks_of,
    beat_range,
    believable,
    is_dance,
    range_in_quarters,
    shortest_value,
)
from passagework.analysis.terms_effects import Effect
from passagework.score.piece import Metronome, Piece, Position

LEAN_STEP = 0.6
"""Degree of a step for *animato*, *agitato*, *con moto* within a piece."""

SLOWED_TO = 0.75
"""Share of the speed at the end of a rit. within a piece; *poco* half of it, in logarithm. An assumption."""
FINAL_SLOWED_TO = 0.6
"""The same at the end of the piece, where measured ritardandi go further."""
QUICKENED_TO = 1.25
RITARDANDO_CURVE = 3
"""Speed v(x) = (1 + (w^q - 1) x)^(1/q) over the way x from 0 to 1 to the share w, q = 3 for runners who come to a
stop with steady braking power (Friberg and Sundberg, 1999)."""

CHANGE_BARS, GRADUAL_BARS = 4, 16
"""Bars up to which a later tempo mark is taken for the end of a rit., and of one *poco a poco*."""
LONE_CHANGE_BARS = 1
"""Bars that a rit. lasts where nothing ends it."""

DEFAULT_PLAYBACK = 120.0
"""Quarters a minute that files carry where nobody set a tempo (default of the Standard MIDI File format)."""
PLAYBACK_TOLERANCE = 1.25
"""Factor by which a playback tempo may lie outside the words' range and still be believed."""
MOST_PLAYBACK_CHANGE = 3.0
LATE_BARS = 1
"""Bars after the first within which a metronome mark still is the piece's own."""
PASSING_BARS = 2
"""A tempo word that holds no longer is a passing one: *più mosso* after it compares with the speed before it."""
WINDOW_BARS = 24
"""Bars after a tempo word from which the value it counts is judged."""


class TempoWalk:
    """Speeds from place to place. `main` is what *a tempo* returns to, `first` what *Tempo I* does."""

    def __init__(self, piece: Piece, marks: Sequence[Mark]) -> None:
        self.piece = piece
        self.places = tempo_places(piece, marks)
        self.warnings: list[str] = []
        self.trusted = True
        self.found: list[TempoRow] = []
        self.before: TempoRow | None = (
            None  # the speed before a tempo word that may be a passing one
        )

    def rows(self) -> list[TempoRow]:
        """All speeds in order, the first at the start of the piece."""
        if not self.piece.bars:
            return [TempoRow(Fraction(0), ASSUMED_BEATS_PER_MINUTE, "assumed", *ASSUMED_BEATS)]
        self._begin()
        rest = [p for p in self.places if p.onset > 0]
        for at, place in enumerate(rest):
            self._place(place, rest, at)
        held = held_longer(clean(self.found, self.piece.end), holds(self.piece))
        return [row for row in held if row.onset < self.piece.end] or held[:1]

    @cached_property
    def attacks(self) -> Attacks:
        """Attacks of both hands."""
        return attacks_of(self.piece)

    # the beginning

    def _begin(self) -> None:
        opening = next((p for p in self.places if p.onset == 0), None)
        if opening is None:
            opening = TempoPlace(Fraction(0), 0)
        row = self._number(opening) or self._late_number(opening) or self._state(opening)
        playback = opening.played or self._only_playback(opening)
        if row is None or (row.source != "marked" and playback is not None):
            row = self._playback_start(row, playback, opening)
        self.main = self.first = row
        self.current = row
        self.found.append(row)
        self._changes(opening, [p for p in self.places if p.onset > 0], -1)

    def _late_number(self, opening: TempoPlace) -> TempoRow | None:
        """A metronome mark typed a little after the start, with no other tempo before it."""
        later = next((p for p in self.places if p.onset > 0), None)
        if later is None or later.bar > LATE_BARS or later.marked is None or later.words:
            return None
        if opening.played is not None and self._asked(opening) is None:
            return None
        number = self._number(later)
        return replace(number, onset=Fraction(0)) if number else None

    def _only_playback(self, opening: TempoPlace) -> Metronome | None:
        """The one playback tempo of a file that holds it a little after the start, in the first bar."""
        if opening.marked or opening.words:
            return None
        return next((p.played for p in self.places if p.bar == 0 and p.played), None)

    def _playback_start(
        self, words: TempoRow | None, played: Metronome | None, opening: TempoPlace
    ) -> TempoRow:
        bar = self.piece.bars[0]
        asked = self._asked(opening) or ASSUMED_BEATS
        wide = believable(asked, bar) if words else TempoRange(0.0, 0.0, float("inf"))
        if played is not None:
            speed = played.quarters_per_minute
            idle = speed == DEFAULT_PLAYBACK and words is None
            if not idle and wide.holds(speed, PLAYBACK_TOLERANCE):
                low = min(words.low, speed) if words else speed / STEP_FACTOR
                high = max(words.high, speed) if words else speed * STEP_FACTOR
                return TempoRow(Fraction(0), speed, "file", low, high, played.id, Fraction(0))
            self.trusted = False
            self.warnings.append(_disbelief(speed, "" if idle else opening.text))
        if words is not None:
            return words
        speed = ASSUMED_BEATS_PER_MINUTE * lean_of(opening) * float(bar.time.beat)
        counted = range_in_quarters(asked, bar, None)
        return TempoRow(Fraction(0), speed, "assumed", counted.low, counted.high)

    # one place

    def _place(self, place: TempoPlace, rest: Sequence[TempoPlace], at: int) -> None:
        row = self._number(place)
        slowing = self.current.changing
        if (
            row is not None
            and slowing
            and not place.words
            and (row.speed - self.main.speed) * slowing > 0
        ):
            self._set(
                replace(row, changing=slowing), main=False
            )  # steps of a rit. given as numbers
            return
        if row is None:
            row = self._worded(place)
        if row is None and place.played is not None and self.trusted:
            self._playback(place)
        elif row is not None:
            self._set(row, main=True)
        self._changes(place, rest, at)

    def _set(self, row: TempoRow, *, main: bool) -> None:
        if main:
            named = row.source == "words" and row.origin == row.onset
            passing = named and self._asked_at(row.onset)
            self.before = self.main if passing else None
            self.main = row
        self.current = row
        self.found.append(row)

    @cached_property
    def named(self) -> list[Position]:
        """Where a tempo word names a speed."""
        return [p.onset for p in self.places if self._asked(p) is not None]

    def _asked_at(self, onset: Position) -> bool:
        at = bisect_left(self.named, onset)
        return at < len(self.named) and self.named[at] == onset

    def _number(self, place: TempoPlace) -> TempoRow | None:
        if place.marked is None:
            return None
        speed = place.marked.quarters_per_minute
        return TempoRow(place.onset, speed, "marked", speed, speed, place.marked.id, place.onset)

    def _asked(self, place: TempoPlace) -> tuple[float, float] | None:
        for mark in place.words:
            beats = beat_range(mark.phrase)
            if beats is not None:
                return beats
        return None

    def _state(self, place: TempoPlace) -> TempoRow | None:
        for mark in place.words:
            beats = beat_range(mark.phrase)
            if beats is None:
                continue
            bar = self.piece.bars[place.bar]
            stop = self.piece.bars[min(place.bar + WINDOW_BARS, len(self.piece.bars) - 1)].end
            at = bisect_right(self.named, place.onset)
            following = self.named[at : at + 1]
            shortest = shortest_value(self.attacks, place.onset, min([stop, *following]))
            found = range_in_quarters(beats, bar, shortest, dance=is_dance(mark.phrase))
            return TempoRow(
                place.onset, found.middle, "words", found.low, found.high, mark.id, place.onset
            )
        return None

    def _worded(self, place: TempoPlace) -> TempoRow | None:
        row: TempoRow | None = None
        for mark in place.words:
            for effect in mark.phrase.of("tempo"):
                row = self._effect(effect, mark, place, row) or row
        state = self._state(place)
        if state is not None and (row is None or row.source != "words"):
            row = state
        if row is None:
            return None
        return self._with_playback(row, place)

    def _effect(
        self, effect: Effect, mark: Mark, place: TempoPlace, so_far: TempoRow | None
    ) -> TempoRow | None:
        base = so_far or self._compared(place)
        at = place.onset
        if effect.kind == "restore":
            back = self.first if effect.verb == "tempo1" else self.main
            return replace(back, onset=at, changing=0)
        if effect.kind == "scale":
            return times(base, effect.factor, at, mark.id)
        if effect.kind == "keep" and effect.verb == "same":
            before = self.piece.bars[max(place.bar - 1, 0)].time.beat
            return times(base, float(self.piece.bars[place.bar].time.beat / before), at, mark.id)
        if effect.kind == "step" and effect.direction:
            return stepped(base, effect.direction, effect.size, at, mark.id)
        lone = effect.kind == "manner" and effect.direction and self._asked(place) is None
        if lone and at > 0:
            return stepped(base, effect.direction, LEAN_STEP * effect.size, at, mark.id)
        return None

    def _compared(self, place: TempoPlace) -> TempoRow:
        """The speed that a comparison at `place` starts from."""
        base = self.main if self.current.changing else self.current
        began = self.piece.bar_at(base.onset).index
        if self.before is not None and base is self.main and place.bar - began <= PASSING_BARS:
            earlier = self.before
            return replace(
                earlier, low=min(base.low, earlier.low), high=max(base.high, earlier.high)
            )
        return base

    def _with_playback(self, row: TempoRow, place: TempoPlace) -> TempoRow:
        """The file's own speed at the place of a word, where it says the same as the word."""
        if place.played is None or not self.trusted:
            return row
        speed = place.played.quarters_per_minute
        near = TempoRange(row.low, row.speed, row.high).holds(speed, PLAYBACK_TOLERANCE)
        restored = any(
            0.9 <= speed / back.speed <= 1.1 for back in (self.main, self.first)
        ) and any(e.kind == "restore" for m in place.words for e in m.phrase.of("tempo"))
        asked = self._asked(place)
        wide = asked is not None and believable(asked, self.piece.bars[place.bar]).holds(
            speed, PLAYBACK_TOLERANCE
        )
        if near or restored or wide:
            return replace(
                row, speed=speed, source="file", low=min(row.low, speed), high=max(row.high, speed),
                id=place.played.id,
            )  # fmt: skip
        return row

    def _playback(self, place: TempoPlace) -> None:
        """A playback tempo with no word: a rit. played out by the file, or a change without a mark."""
        assert place.played is not None
        speed = place.played.quarters_per_minute
        share = speed / self.main.speed
        if not 1 / MOST_PLAYBACK_CHANGE <= share <= MOST_PLAYBACK_CHANGE:
            return
        if self.main.source == "marked" and self.main.speed == speed:
            self._set(replace(self.main, onset=place.onset), main=False)
            return
        changing = self.current.changing
        row = TempoRow(
            place.onset, speed, "file", speed / STEP_FACTOR, speed * STEP_FACTOR, place.played.id, place.onset,
            changing if (speed - self.main.speed) * changing > 0 else 0,
        )  # fmt: skip
        self._set(row, main=row.changing == 0)

    # changes

    def _changes(self, place: TempoPlace, rest: Sequence[TempoPlace], at: int) -> None:
        for mark in place.words:
            for effect in mark.phrase.of("tempo"):
                if effect.kind == "change" and effect.direction:
                    self._change(effect, mark, place, rest[at + 1 : at + 5])

    def _change(
        self, effect: Effect, mark: Mark, place: TempoPlace, later: Sequence[TempoPlace]
    ) -> None:
        bars = self.piece.bars
        gradual = "little by little" in effect.meaning or effect.compared
        reach = GRADUAL_BARS if gradual else CHANGE_BARS
        after = next((p for p in later if p.onset > place.onset), None)
        limit = min(place.bar + reach, len(bars) - 1)
        final = False
        lone = False
        if after is not None and after.bar <= limit:
            end = after.onset
        elif after is None and place.bar + reach >= len(bars):
            end, final = self.piece.end, True
        else:
            end, lone = bars[min(place.bar + LONE_CHANGE_BARS, len(bars) - 1)].end, True
            end = min(end, after.onset) if after is not None else end
        goal = FINAL_SLOWED_TO if final else SLOWED_TO
        share = (goal if effect.direction < 0 else QUICKENED_TO) ** effect.size
        if effect.direction > 0 and self.current.changing < 0:
            share, back = self.main.speed / self.current.speed, True  # the way back out of a rit.
        else:
            back = effect.direction < 0
        base = self.current
        self._ramp(place.onset, end, share, effect.direction, mark.id)
        if lone and back:
            self._set(replace(self.main, onset=end), main=False)
        elif lone:
            self._set(times(base, share, end, mark.id), main=True)

    def _ramp(self, start: Position, end: Position, share: float, sign: int, ident: str) -> None:
        base = self.current
        beat = self.piece.bar_at(start).time.beat
        count = max(2, min(64, int((end - start) / beat)))
        power = RITARDANDO_CURVE
        for k in range(count):
            x = (k + 0.5) / count
            factor = (1 + (share**power - 1) * x) ** (1 / power)
            onset = start + (end - start) * Fraction(k, count)
            low, high = sorted((base.low * factor**1.6, base.high))
            self._set(
                TempoRow(onset, base.speed * factor, "words", low, high, ident, None, sign),
                main=False,
            )


def lean_of(place: TempoPlace) -> float:
    """How a character without a tempo word leans: *maestoso* a little slower, *con fuoco* a little faster."""
    lean = sum(e.direction for m in place.words for e in m.phrase.parts if e.kind == "manner")
    return float(STEP_FACTOR ** max(-1, min(1, lean)))


def _disbelief(speed: float, words: str) -> str:
    reason = (
        f"does not agree with “{words}”" if words else "is what files hold where none was chosen"
    )
    return f"the file plays at {speed:g} crotchets a minute, which {reason}"
