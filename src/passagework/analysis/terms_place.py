"""What a term means where it stands: compared with the marks before it, followed to the marks after it."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from passagework.analysis.lexicon import Dimension, key_of
from passagework.analysis.loudness import Loudness, LoudnessCurve, loudness_curve
from passagework.analysis.loudness_levels import level_name, read_sign, velocity
from passagework.analysis.marks import Mark
from passagework.analysis.tempo import TempoMap, TempoSpan, tempo_map
from passagework.analysis.terms_effects import Effect
from passagework.score.bar_names import bar_names
from passagework.score.piece import Piece, Position

AUDIBLE = 0.2
"""Steps of loudness, and share of the speed, below which nothing is called louder, softer, faster or slower."""
AUDIBLE_SPEED = 0.02

NEAR_BARS = 8
"""A sign farther away than a period is not where a change leads."""

BEAT_NAMES = {
    Fraction(1, 4): "semiquavers", Fraction(1, 2): "quavers", Fraction(3, 4): "dotted quavers",
    Fraction(1): "crotchets", Fraction(3, 2): "dotted crotchets", Fraction(2): "minims",
    Fraction(3): "dotted minims", Fraction(4): "semibreves",
}  # fmt: skip


@dataclass(frozen=True)
class Places:
    """A piece with its marks, loudness and tempo, to be asked about single terms."""

    piece: Piece
    marks: tuple[Mark, ...]

    @cached_property
    def loudness(self) -> LoudnessCurve:
        """Loudness along the piece."""
        return loudness_curve(self.piece, self.marks)

    @cached_property
    def tempo(self) -> TempoMap:
        """Tempo along the piece."""
        return tempo_map(self.piece, self.marks)

    def bar(self, index: int) -> str:
        """``"bar 12"``."""
        return bar_names(self.piece, [index])

    def bar_of(self, position: Position) -> str:
        """The bar that holds `position`, ``"bar 12"``."""
        return self.bar(self.piece.bar_at(position).index)

    @cached_property
    def _by_dimension(self) -> dict[str, list[tuple[Position, Mark]]]:
        rows: dict[str, list[tuple[Position, Mark]]] = {}
        for mark in self.marks:
            for dimension in dict.fromkeys(p.dimension for p in mark.phrase.parts):
                rows.setdefault(dimension, []).append((mark.onset, mark))
        return rows

    def mark_of(self, ident: str, onset: Position) -> Mark:
        """The mark with that id and place; raises `KeyError` where there is none."""
        return self._by_place[ident, onset]

    @cached_property
    def _by_place(self) -> dict[tuple[str, Position], Mark]:
        return {(m.id, m.onset): m for m in self.marks}

    def next_mark(self, mark: Mark, dimension: Dimension) -> Mark | None:
        """The next mark after `mark` that acts on `dimension`."""
        rows = self._by_dimension.get(dimension, [])
        at = bisect_right(rows, mark.onset, key=lambda r: r[0])
        return rows[at][1] if at < len(rows) else None

    def earlier_marks(self, mark: Mark, dimension: Dimension) -> Sequence[Mark]:
        """The marks before `mark` that act on `dimension`, the nearest first."""
        rows = self._by_dimension.get(dimension, [])
        return [m for _, m in rows[: bisect_left(rows, mark.onset, key=lambda r: r[0])]][::-1]

    def at_onset(self, position: Position, dimension: Dimension) -> Mark | None:
        """A mark on `dimension` exactly at `position`."""
        rows = self._by_dimension.get(dimension, [])
        at = bisect_left(rows, position, key=lambda r: r[0])
        return rows[at][1] if at < len(rows) and rows[at][0] == position else None

    # loudness

    def loud_before(self, mark: Mark) -> Loudness | None:
        """Loudness just before `mark`; None where no sign stands before it."""
        span = self.loudness.span_before(mark.onset, mark.staff)
        if span is None or not span.id:
            return None
        return Loudness(span.stop, velocity(span.stop), span.source, span.id, span.bar)

    @cached_property
    def _signs(self) -> list[tuple[Position, str, int]]:
        rows = []
        for d in self.piece.dynamics:
            sign = read_sign(d.text)
            if sign is not None and sign.level is not None:
                rows.append((d.onset, d.text, d.bar))
        return rows

    def next_sign(self, position: Position) -> tuple[Position, str, int] | None:
        """The first sign that sets a level after `position`: its place, text and bar."""
        at = bisect_right(self._signs, position, key=lambda r: r[0])
        return self._signs[at] if at < len(self._signs) else None

    # tempo

    def steady_before(self, position: Position) -> TempoSpan | None:
        """The last steady speed before `position`."""
        spans = self.tempo.spans
        at = self.tempo.index_before(position)
        while at > 0 and spans[at].changing:
            at -= 1
        return spans[at] if at >= 0 else None

    def steady_after(self, position: Position) -> TempoSpan | None:
        """The first steady speed after `position`."""
        spans = self.tempo.spans
        at = self.tempo.index_before(position) + 1
        later = (spans[k] for k in range(at, len(spans)))
        return next((s for s in later if s.onset > position and not s.changing), None)

    def origin(self, span: TempoSpan) -> str:
        """Where a speed was set, in words."""
        return self.bar_of(span.origin if span.origin is not None else span.onset)

    def speed(self, position: Position, low: float, high: float) -> str:
        """A range of quarters a minute in the beats of its bar, ``"66 to 100 crotchets a minute"``."""
        beat = self.piece.bar_at(position).time.beat
        name = BEAT_NAMES.get(beat, "beats")
        a, b = round(low / float(beat)), round(high / float(beat))
        return f"{a} {name} a minute" if a == b else f"{a} to {b} {name} a minute"


def consequence(effect: Effect, mark: Mark, places: Places) -> tuple[str, int]:
    """What `effect` comes to at `mark`, in words, and its direction there (+1 louder or faster)."""
    if effect.dimension == "loudness":
        return _loudness(effect, mark, places)
    if effect.dimension == "tempo":
        return _tempo(effect, mark, places)
    if effect.dimension == "pedal":
        return _pedal(effect, mark, places), 0
    if effect.dimension == "modifier":
        return _modifier(mark, places), 0
    return "", 0


def _modifier(mark: Mark, places: Places) -> str:
    """The marks that a word of degree alone may belong to."""
    earlier = [m for d in ("loudness", "tempo") for m in places.earlier_marks(mark, d)[:1]]
    if not earlier:
        return "no mark before it says what it acts on"
    named = [
        f"“{m.text.strip()}” in {places.bar(m.bar)}"
        for m in sorted(earlier, key=lambda m: -m.onset)
    ]
    return (
        f"before it stand {' and '.join(named)}"
        if len(named) > 1
        else f"before it stands {named[0]}"
    )


def _loudness(effect: Effect, mark: Mark, places: Places) -> tuple[str, int]:
    before = places.loud_before(mark)
    if effect.kind == "accent":
        sign = read_sign(key_of(effect.words))
        if sign is not None and sign.level is not None:
            return f"the first note or chord only, then {level_name(sign.level)}", 0
        return "this note or chord only; what follows is as before", 0
    if effect.kind == "change":
        return _change(effect, mark, places), effect.direction
    if effect.kind not in {"state", "step"}:
        return "", 0
    now = places.loudness.at(mark.onset, mark.staff)
    if before is None:
        if effect.kind == "step":
            return "no sign stands before it to compare with", effect.direction
        return "", 0
    was = f"{places.bar(before.bar)}, which was {before.sign}" if before.source == "marked" else (
        f"just before, about {before.sign} by now (last mark in {places.bar(before.bar)})"
    )  # fmt: skip
    moved = now.level - before.level
    if effect.kind == "step":
        word = "louder" if effect.direction > 0 else "softer"
        return f"{word} than {was}: about {level_name(now.level)}", effect.direction
    if abs(moved) < AUDIBLE:
        return f"as loud as {was}", 0
    return f"{'louder' if moved > 0 else 'softer'} than {was}", 1 if moved > 0 else -1


def _change(effect: Effect, mark: Mark, places: Places) -> str:
    span = places.loudness.span_at(mark.onset, mark.staff)
    word = "growing" if effect.direction > 0 else "falling"
    sign = places.next_sign(mark.onset)
    if effect.until and effect.level is not None:
        return f"{word} to {effect.until}"
    if (
        sign is not None
        and span.source == "marked"
        and (span.stop - span.start) * effect.direction > 0
    ):
        return f"{word} from {level_name(span.start)} on the way to the {sign[1]} of {places.bar(sign[2])}"
    if sign is None:
        return f"{word}; no sign after it says how far"
    if sign[2] - mark.bar > NEAR_BARS:
        return f"{word}; no sign near it says how far (the next is the {sign[1]} of {places.bar(sign[2])})"
    away = "softer" if effect.direction > 0 else "louder"
    level = read_sign(sign[1])
    if (
        level is not None
        and level.level is not None
        and (level.level - span.start) * effect.direction <= 0
    ):
        return (
            f"{word} until the {sign[1]} of {places.bar(sign[2])}, which is {away} than where it arrives: "
            "the sign comes suddenly"
        )
    return f"{word}; how far is not said, the next sign is the {sign[1]} of {places.bar(sign[2])}"


def _tempo(effect: Effect, mark: Mark, places: Places) -> tuple[str, int]:
    here = places.tempo.span_at(mark.onset)
    before = places.steady_before(mark.onset)
    if effect.kind == "restore":
        return _restored(effect, mark, places)
    if effect.kind == "change":
        return _until(effect, mark, places), effect.direction
    if effect.kind == "state":
        return _state(here, before, mark, places)
    if effect.kind in {"step", "manner", "scale"} and before is not None and mark.onset > 0:
        moved = here.quarters_per_minute / before.quarters_per_minute - 1
        if abs(moved) < AUDIBLE_SPEED or here.changing:
            return "", effect.direction
        word = "faster" if moved > 0 else "slower"
        size = places.speed(mark.onset, here.quarters_per_minute, here.quarters_per_minute)
        old = places.speed(mark.onset, before.quarters_per_minute, before.quarters_per_minute)
        sure = "the mark says" if here.source == "marked" else "about"
        return (
            f"{word} than {places.origin(before)}: {sure} {size}, after {old}",
            1 if moved > 0 else -1,
        )
    return "", 0


def _state(
    here: TempoSpan, before: TempoSpan | None, mark: Mark, places: Places
) -> tuple[str, int]:
    if here.low is None or here.high is None:
        return "", 0
    if here.source == "marked":
        text = f"the metronome mark says {places.speed(mark.onset, here.low, here.high)}"
    elif here.source == "file":
        played = places.speed(mark.onset, here.quarters_per_minute, here.quarters_per_minute)
        text = f"usually {places.speed(mark.onset, here.low, here.high)}; the file plays {played}"
    else:
        text = f"usually {places.speed(mark.onset, here.low, here.high)}"
    if before is None or mark.onset == 0:
        return text, 0
    moved = here.quarters_per_minute / before.quarters_per_minute - 1
    if abs(moved) < AUDIBLE_SPEED:
        return f"about the speed of {places.origin(before)}; {text}", 0
    word = "faster" if moved > 0 else "slower"
    return f"{word} than {places.origin(before)}; {text}", 1 if moved > 0 else -1


def _restored(effect: Effect, mark: Mark, places: Places) -> tuple[str, int]:
    spans = places.tempo.spans
    here = places.tempo.span_at(mark.onset)
    at = places.tempo.index_before(mark.onset)
    if at < 0:
        return "nothing stands before it to go back to", 0
    just = spans[at]
    moved = here.quarters_per_minute / just.quarters_per_minute - 1
    direction = 0 if abs(moved) < AUDIBLE_SPEED else (1 if moved > 0 else -1)
    if effect.verb == "tempo1":
        target = places.bar(0)
    else:
        back = places.steady_before(mark.onset) or just
        opening = spans[0]
        if not _alike(here, back) and _alike(here, opening):
            back = opening
        target = places.origin(back)
    tail = "" if direction else ", which has not changed since"
    if direction:
        tail = f": {'faster' if direction > 0 else 'slower'} than just before"
    return f"back to the speed of {target}{tail}", direction


def _alike(one: TempoSpan, other: TempoSpan) -> bool:
    return abs(one.quarters_per_minute / other.quarters_per_minute - 1) < AUDIBLE_SPEED


def _turn(effect: Effect, mark: Mark, places: Places) -> Mark | None:
    """The next mark that changes the speed the other way."""
    later = places.next_mark(mark, "tempo")
    while later is not None:
        for other in later.phrase.of("tempo"):
            if other.kind == "change" and other.direction == -effect.direction:
                return later
        later = places.next_mark(later, "tempo")
    return None


def _until(effect: Effect, mark: Mark, places: Places) -> str:
    word = "getting faster" if effect.direction > 0 else "getting slower"
    after = places.steady_after(mark.onset)
    turn = _turn(effect, mark, places)
    if turn is not None and (after is None or turn.onset < after.onset):
        return f"{word} until “{turn.text.strip()}” in {places.bar(turn.bar)}"
    if after is None:
        return f"{word} to the end of the piece"
    ending = places.at_onset(after.onset, "tempo")
    where = places.bar_of(after.onset)
    if ending is not None and ending.onset > mark.onset:
        return f"{word} until “{ending.text.strip()}” in {where}"
    if after.source == "marked" and after.id != mark.id and after.origin == after.onset:
        return f"{word} until the metronome mark in {where}"
    return f"{word}; nothing says where it ends, about to {where}"


def _pedal(effect: Effect, mark: Mark, places: Places) -> str:
    if effect.verb == "soft":
        later = next((m for m in places.marks if m.onset > mark.onset and _has(m, "softoff")), None)
        if later is None:
            return "left pedal down; no mark says where it comes up again"
        return f"left pedal down until “{later.text.strip()}” in {places.bar(later.bar)}"
    if effect.verb == "softoff":
        earlier = next((m for m in places.earlier_marks(mark, "pedal") if _has(m, "soft")), None)
        if earlier is None:
            return "left pedal up, although no mark before it puts it down"
        return f"left pedal up, which was down since {places.bar(earlier.bar)}"
    return ""


def _has(mark: Mark, verb: str) -> bool:
    return any(p.verb == verb for p in mark.phrase.of("pedal"))
