"""Every kind of difficulty measured on one scale for all pieces.

Spots are judged relative to the level of their piece. A profile needs the same scale for a first-year piece and for a sonata: the
detectors are asked with the level held at `REFERENCE_LEVEL`, whatever the piece, so that severity 0.5 is always the place that the
same, lower intermediate student must practise on purpose.

So that the same piece faster, or for a smaller hand, is never easier, some kinds are asked in a steadier way:

* ornaments, tremolos, soft playing, keys that both hands need, and changes of position are measured at `STEADY` beats a minute, since
  what makes them hard is in part how long they last;
* two voices in one hand, double notes, crossing hands and shared keys with the mean hand, since a smaller hand lets go of what it
  cannot hold and so has, by the detectors' count, less to do;
* stretches and notes against the signature by a count of their own (`opening`, `pitches.altered`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from passagework.analysis.tempo import TempoMap, TempoSpan
from passagework.demands.grid import Grid
from passagework.demands.opening import openings
from passagework.demands.pitches import altered_notes
from passagework.hands.hand import MEDIUM
from passagework.score.piece import Piece
from passagework.spots import accidentals, soft_playing
from passagework.spots.context import Context
from passagework.spots.level import MIDDLE_BEATS, Level
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.shifts import find_shifts
from passagework.spots.sounding import moments
from passagework.spots.spot import Candidate
from passagework.spots.table import all_kinds

REFERENCE_LEVEL = 0.42
"""Lower intermediate: as high as the detectors still look for what is hard in easy pieces (runs of five notes). Fixed for good:
another value is another scale."""

POSITION_LEVEL = 0.4
"""The same for changes of position, which are looked for up to this level only (`passagework.spots.shifts.HIGHEST_LEVEL`)."""

STEADY = MIDDLE_BEATS
"""Beats a minute at which the kinds are measured in which slowness is hard too."""

FAINTEST = 0.02
"""Severity below which an occurrence is none, for any student."""

AT_STEADY_TEMPO = frozenset({"ornaments", "tremolo", "soft-playing", "same-keys"})
WITH_MEAN_HAND = frozenset({"two-voices", "double-notes", "hands-crossing", "same-keys"})

DEAR = frozenset({"harmony", "balance", "tune-between-hands", "near-repeats"})
"""Kinds that need the analysis of harmony, tune and form, which takes longer than everything else together."""

OF_THE_HAND = frozenset({"hand", "level", "fingering", "_moments"})
OF_THE_TEMPO = frozenset({"tempo", "level", "fingering", "_seconds"})
"""What a context knows that is not the same for another hand, or at another tempo."""


@dataclass(frozen=True)
class _Asked:
    """The ways in which one piece is asked, each made when it is needed."""

    context: Context
    contexts: dict[tuple[bool, bool], Context] = field(default_factory=dict)

    def of(self, kind: str) -> Context:
        """The context in which `kind` is measured."""
        key = kind in AT_STEADY_TEMPO, kind in WITH_MEAN_HAND
        if key not in self.contexts:
            self.contexts[key] = self._make(*key)
        return self.contexts[key]

    def _make(self, steady: bool, mean_hand: bool) -> Context:
        tempo = self.steady_tempo if steady else None
        return derived(self.with_mean_hand if mean_hand else self.context, REFERENCE_LEVEL, tempo)

    @cached_property
    def with_mean_hand(self) -> Context:
        """The piece for the mean hand, with what the hands hold walked through once."""
        context = self.context
        if context.hand != MEDIUM:
            context = Context(context.piece, MEDIUM)
            vars(context).update(
                {k: v for k, v in vars(self.context).items() if k not in OF_THE_HAND}
            )
        moments(context)
        return context

    @cached_property
    def steady_tempo(self) -> TempoMap:
        """A tempo map of `STEADY` beats a minute throughout."""
        return steady_tempo(self.context.piece)


def derived(context: Context, level: float, tempo: TempoMap | None = None) -> Context:
    """The piece and hand of `context` taken for another level (and tempo), with what is known of it already."""
    result = Context(context.piece, context.hand)
    gone = OF_THE_TEMPO if tempo is not None else frozenset({"level"})
    vars(result).update({k: v for k, v in vars(context).items() if k not in gone})
    if tempo is not None:
        vars(result)["tempo"] = tempo
    vars(result)["level"] = Level(level, 0.0, 0, 0.0)
    return result


def steady_tempo(piece: Piece) -> TempoMap:
    """`STEADY` beats a minute from the beginning to the end, whatever the page says."""
    spans: list[TempoSpan] = []
    for bar in piece.bars:
        speed = STEADY * float(bar.time.beat)
        if spans and spans[-1].quarters_per_minute == speed:
            continue
        seconds = 0.0
        if spans:
            last = spans[-1]
            seconds = last.seconds + float(bar.onset - last.onset) * 60 / last.quarters_per_minute
        spans.append(TempoSpan(bar.onset, speed, "assumed", seconds))
    return TempoMap(tuple(spans) or (TempoSpan(piece.end, STEADY, "assumed", 0.0),))


def reference_candidates(grid: Grid, *, dear: bool = True) -> dict[str, tuple[Candidate, ...]]:
    """Every occurrence of every kind of severity `FAINTEST` at least, at the reference level, in order of place.

    Without `dear` the kinds of `DEAR` are left out.
    """
    context = grid.context
    warm(context)
    asked = _Asked(context)
    result: dict[str, tuple[Candidate, ...]] = {}
    for kind in all_kinds():
        if kind.name in DEAR and not dear:
            continue
        rows = _own_count(kind.name, grid, asked)
        if rows is None:
            rows = kind.find(asked.of(kind.name))
        kept = [c for c in rows if c.severity >= FAINTEST and c.note_ids]
        result[kind.name] = tuple(sorted(kept, key=lambda c: (c.first_bar, c.last_bar, c.hand)))
    return result


def warm(context: Context) -> None:
    """Make what all contexts derived from `context` share, so that it is made once."""
    _ = context.tempo, context.marks, context.attacks, context.streams, context.loudness
    context.attacks_between("left", context.piece.end, context.piece.end)
    context.seconds(context.piece.end)


def _own_count(name: str, grid: Grid, asked: _Asked) -> Iterable[Candidate] | None:
    if name == "stretch":
        return openings(grid)
    if name == "accidentals":
        return _altered(grid)
    if name == "soft-playing":
        return _soft(asked.of(name))
    if name == "leap":
        kind = next(k for k in all_kinds() if k.name == name)
        steady = derived(asked.context, POSITION_LEVEL, asked.steady_tempo)
        return [*kind.find(asked.of(name)), *find_shifts(steady)]
    return None


def _altered(grid: Grid) -> Iterator[Candidate]:
    """Bars with notes against the signature, however often the piece alters the same ones."""
    level = Level(REFERENCE_LEVEL, 0.0, 0, 0.0)
    low, high = by_level(level, *accidentals.ORDINARY), by_level(level, *accidentals.HARD)
    for bar, notes in enumerate(grid.once(altered_notes)):
        if notes:
            sides = {n.hand for n in notes}
            count = len({(n.staff, n.pitch.diatonic) for n in notes})
            yield Candidate(
                bar, bar, sides.pop() if len(sides) == 1 else "both", tuple(n.id for n in notes),
                severity_by_ratio(count, low, high), numbers={"notes": float(count)},
            )  # fmt: skip


def _soft(context: Context) -> Iterator[Candidate]:
    """Soft playing without regard to the octave it stands in."""
    low, high = (by_level(context.level, *t) for t in (soft_playing.ORDINARY, soft_playing.HARD))
    for found in soft_playing.find(context):
        numbers = found.numbers
        lasting = min(numbers["seconds"] / soft_playing.LONG, 1.0)
        demand = numbers["rate"] * soft_playing.SOFTNESS[found.family] * lasting
        yield replace(found, severity=severity_by_ratio(demand, low, high))
