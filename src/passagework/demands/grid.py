"""A piece laid out for measuring: what each hand strikes, bar by bar and beat by beat.

Conventions
-----------
* Heights are *staff steps* (`Pitch.diatonic`), a white key each: at most half a white key from the place on the keyboard, and the
  same whatever signs stand before the notes, so that signs are measured by what they are and by nothing else.
* Tuples are indexed left 0, right 1.
* A *beat* is a cell of the metre's beat within its bar (`TimeSignature.beat`); the last one of a bar may be short.
* The seconds of a bar come from its tempo, believed in part (`passagework.spots.level.TRUST`): a metronome mark may be the
  composer's boldest wish, words cover a wide range, and a file that says nothing is read at `MIDDLE_BEATS`. Words count the beat of
  the metre here, whatever the notes: what notes are there must not make the piece slower or faster.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import exp, gcd, log
from typing import Any, TypeVar

from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.score.piece import Bar
from passagework.spots.context import Attack, Context
from passagework.spots.level import MIDDLE_BEATS, TRUST

T = TypeVar("T")

SHORTEST_BAR_S = 0.25
"""A bar counts for at least so many seconds, so that a fragment of a bar (a split measure, a wrong count) is no speed."""


@dataclass(frozen=True, slots=True)
class Strike:
    """What one hand strikes at one moment."""

    tick: int
    bar: int
    beat: int
    """Index of its beat, counted through the piece."""
    phase: tuple[int, int]
    """Its place within the beat as a fraction in lowest terms, (0, 1) to below (1, 1)."""
    next_beat: float
    """Tick of the next beat."""
    steps: tuple[int, ...]
    """Staff steps of its notes, ascending."""
    release: int
    """Tick at which its last note ends."""
    attack: Attack


@dataclass(frozen=True)
class Grid:
    """A piece laid out for measuring."""

    context: Context
    seconds: tuple[float, ...]
    """Seconds of each bar at the tempo as far as it is believed."""
    beat_ticks: tuple[Fraction, ...]
    """Ticks of a beat of each bar."""
    beats: int
    """Beats of the piece."""
    hands: tuple[tuple[Strike, ...], tuple[Strike, ...]]
    by_beat: tuple[dict[int, list[Strike]], dict[int, list[Strike]]]
    """The strikes of each beat that has any."""
    bar_of_beat: tuple[int, ...]
    _known: dict[tuple[Callable[..., Any], int], Any] = field(default_factory=dict, repr=False)

    def of_hand(self, measure: Callable[[Grid, int], T], hand: int) -> T:
        """`measure` of one hand, made once."""
        key = measure, hand
        if key not in self._known:
            self._known[key] = measure(self, hand)
        value: T = self._known[key]
        return value

    def once(self, measure: Callable[[Grid], T]) -> T:
        """`measure` of the piece, made once."""
        key = measure, -1
        if key not in self._known:
            self._known[key] = measure(self)
        value: T = self._known[key]
        return value

    @property
    def bars(self) -> int:
        """How many bars the piece has."""
        return len(self.seconds)

    def per_second(self, amounts: Sequence[float]) -> list[float]:
        """Amounts of the bars as rates."""
        return [a / s for a, s in zip(amounts, self.seconds, strict=True)]

    @property
    def strikes(self) -> Iterator[Strike]:
        """Those of the left hand, then those of the right."""
        yield from self.hands[0]
        yield from self.hands[1]


def lay_out(context: Context) -> Grid:
    """Lay out the piece of `context`; linear in its notes and bars."""
    piece = context.piece
    first_beat: list[int] = []
    beat_ticks: list[Fraction] = []
    bar_of_beat: list[int] = []
    for bar in piece.bars:
        first_beat.append(len(bar_of_beat))
        beat_ticks.append(bar.time.beat * piece.ticks_per_quarter)
        bar_of_beat += [bar.index] * max(-(-bar.length // bar.time.beat), 1)
    starts = [piece.ticks(bar.onset) for bar in piece.bars]
    left, right = (
        tuple(_strikes(context.attacks[side], starts, beat_ticks, first_beat))
        for side in ("left", "right")
    )
    said = tempo_map(replace(piece, notes=()), context.marks)
    return Grid(
        context,
        tuple(believed_seconds(said, bar) for bar in piece.bars),
        tuple(beat_ticks),
        len(bar_of_beat),
        (left, right),
        (_by_beat(left), _by_beat(right)),
        tuple(bar_of_beat),
    )


def believed_seconds(said: TempoMap, bar: Bar) -> float:
    """Seconds of `bar`, its tempo taken part of the way (in logarithm) from `MIDDLE_BEATS`."""
    span = said.steady_at(bar.onset)
    beat = float(bar.time.beat)
    rate = span.quarters_per_minute / beat
    speed = exp(log(MIDDLE_BEATS) + TRUST[span.source] * log(rate / MIDDLE_BEATS))
    return max(float(bar.length) / beat * 60.0 / speed, SHORTEST_BAR_S)


def _strikes(
    attacks: Sequence[Attack],
    starts: Sequence[int],
    beat_ticks: Sequence[Fraction],
    first_beat: Sequence[int],
) -> Iterator[Strike]:
    for attack in attacks:
        bar = attack.notes[0].bar
        above, below = beat_ticks[bar].as_integer_ratio()
        at, rest = divmod((attack.tick - starts[bar]) * below, above)
        common = gcd(rest, above)
        phase = rest // common, above // common
        following = starts[bar] + (at + 1) * above / below
        steps = tuple(sorted({n.pitch.diatonic for n in attack.notes}))
        beat = first_beat[bar] + at
        yield Strike(attack.tick, bar, beat, phase, following, steps, attack.release, attack)


def _by_beat(strikes: Sequence[Strike]) -> dict[int, list[Strike]]:
    rows: dict[int, list[Strike]] = {}
    for strike in strikes:
        rows.setdefault(strike.beat, []).append(strike)
    return rows
