"""From a piece that was read to what there is to learn in it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from passagework.demands.profile import Demands
from passagework.exercises.tempos import tempo_name
from passagework.spots.context import Context
from passagework.spots.find import importance
from passagework.spots.spot import Spot
from passagework.spots.words_of import tempo_words
from passagework.teaching.work import (
    Asked,
    PieceWork,
    PlanExercise,
    PlanSection,
    PlanSpot,
    PlanStep,
)

if TYPE_CHECKING:
    from passagework.exercises.exercise import Exercise

SLOWLY = 0.5
"""Share of the tempo at which both hands first play together (`passagework.teaching.settings.LAYERS`)."""

SHORTEST_SECONDS = 0.5
"""No passage is shorter: a single stroke has to be prepared too."""

LONGEST_PART, SHORTEST_PART = 16, 4
"""Bars that are learned in one go, at most, and at least where a longer section is cut. Planning values."""

AS_HARD = 1e-9


def piece_work(
    piece_id: str,
    title: str,
    context: Context,
    spots: Sequence[Spot],
    demands: Demands,
    *,
    exercises: Mapping[str, Sequence[Exercise]] | None = None,
    performance: date | None = None,
    by_heart: bool = True,
) -> PieceWork:
    """What there is to learn in the piece of `context`.

    `spots` are those to be planned for (the short list, with the teacher's own and without the hidden ones), `exercises`
    theirs by the spot's id, the first choice first. Raises `ValueError` for a piece without notes.
    """
    if not context.piece.notes:
        raise ValueError(f"{title}: there is nothing to play in this piece")
    built = exercises or {}
    return PieceWork(
        piece_id,
        title,
        _through_seconds(context),
        _sections(context),
        tuple(_spot(s, context, demands, spots, built.get(s.id, ())) for s in spots),
        {k: Asked(d.hardest, d.share) for k, d in demands.kinds.items() if d.hardest > 0},
        performance,
        by_heart,
    )


def with_exercises(work: PieceWork, exercises: Mapping[str, Sequence[Exercise]]) -> PieceWork:
    """`work` with exercises for its spots, by the spot's id: for those that are built later than the plan."""
    spots = (
        replace(s, exercises=_exercises(exercises[s.id])) if s.id in exercises else s
        for s in work.spots
    )
    return replace(work, spots=tuple(spots))


def spot_demand(spot: Spot, demands: Demands, spots: Sequence[Spot]) -> float:
    """How hard `spot` is on the absolute scale of `demands`.

    A spot in the bars that hold the hardest of its kind is as hard as that; the others lie between the typical and the
    hardest of the piece, as their severities lie between 0 and that of the hardest spot of the kind.
    """
    demand = demands.kinds.get(spot.kind)
    if demand is None:
        return spot.severity
    top = max((s.severity for s in spots if s.kind == spot.kind), default=0.0)
    if spot.severity >= top - AS_HARD or set(demand.bars[:1]) & set(spot.bars):
        return demand.hardest
    low = min(demand.typical, demand.hardest)
    return low + (demand.hardest - low) * (spot.severity / top)


def _through_seconds(context: Context) -> float:
    """Seconds of the whole piece, repeats taken."""
    order = context.piece.playing_order or range(len(context.piece.bars))
    return max(sum(_seconds(context, i, i) for i in order), SHORTEST_SECONDS)


def _seconds(context: Context, first_bar: int, last_bar: int) -> float:
    start, end = context.bar(first_bar).onset, context.bar(last_bar).end
    return max(context.seconds(end) - context.seconds(start), 0.0)


def _sections(context: Context) -> tuple[PlanSection, ...]:
    rows: list[PlanSection] = []
    for at, section in enumerate(context.form.sections):
        known = _likeness(
            section.label, section.likeness, [s.label for s in context.form.sections[:at]]
        )
        starts = _parts(context, section.first_bar, section.last_bar)
        for first, after in zip(starts, [*starts[1:], section.last_bar + 1], strict=True):
            where = context.bar_names(range(first, after))
            seconds = max(_seconds(context, first, after - 1), SHORTEST_SECONDS)
            tempo, slow = (tempo_words(context, context.bar(first).onset, x) for x in (1, SLOWLY))
            rows.append(
                PlanSection(section.label, where, first, after - 1, seconds, known, tempo, slow)
            )
    return tuple(rows)


def _parts(context: Context, first: int, last: int) -> list[int]:
    """First bars of the parts in which a section is learned: the whole of it where it is short, else cut where a phrase
    begins, near the middle, again and again.
    """
    if last - first + 1 <= LONGEST_PART:
        return [first]
    middle = (first + last + 1) / 2
    inside = range(first + SHORTEST_PART, last + 2 - SHORTEST_PART)
    phrases = {context.piece.bar_at(p.onset).index for p in context.form.phrases} & set(inside)
    cut = min(phrases or set(inside), key=lambda bar: (abs(bar - middle), bar))
    return [*_parts(context, first, cut - 1), *_parts(context, cut, last)]


def _likeness(label: str, likeness: float, before: Sequence[str]) -> float:
    """How much of a section is known already: nothing of the first of its letter."""
    return likeness if label.rstrip("'") in {b.rstrip("'") for b in before} else 0.0


def _spot(
    spot: Spot,
    context: Context,
    demands: Demands,
    spots: Sequence[Spot],
    exercises: Sequence[Exercise],
) -> PlanSpot:
    from passagework.exercises.passage import passage_of

    passage = passage_of(spot, context)
    return PlanSpot(
        id=spot.id,
        kind=spot.kind,
        title=spot.wording.title,
        where=context.bar_names(list(passage.bars)),
        bars=spot.bars,
        severity=spot.severity,
        importance=importance(spot),
        demand=spot_demand(spot, demands, spots),
        seconds=max(_seconds(context, passage.first_bar, passage.last_bar), SHORTEST_SECONDS),
        places=len(spot.places),
        hand=spot.hand,
        done_when=spot.wording.done_when,
        exercises=_exercises(exercises),
    )


def _exercises(exercises: Sequence[Exercise]) -> tuple[PlanExercise, ...]:
    return tuple(
        PlanExercise(
            e.technique,
            e.title,
            e.why,
            e.first_bar,
            e.last_bar,
            tuple(
                PlanStep(s.title, s.instruction, s.done_when, tempo_name(s.tempo)) for s in e.steps
            ),
        )
        for e in exercises
    )
