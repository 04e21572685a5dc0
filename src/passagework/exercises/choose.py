"""Which exercises a spot gets: those of its kind that fit the notes, the first choice first."""

from __future__ import annotations

from collections.abc import Iterable

from passagework.exercises.exercise import DoesNotFitError, Exercise, Technique
from passagework.exercises.passage import Passage, passage_of
from passagework.exercises.study import Study
from passagework.exercises.table import BY_KIND, BY_NAME, GENERAL, TECHNIQUES
from passagework.spots.spot import Spot

FEWEST, MOST = 2, 5
"""Exercises to a spot: a choice, and no more than a lesson has time to explain."""

FITS_FROM = 0.3
"""Fit from which a technique is offered."""


def exercises_for(spot: Spot, study: Study) -> tuple[Exercise, ...]:
    """Two to five exercises for `spot`, in the order in which a teacher would try them.

    Techniques of its kind that the notes do not bear are passed over; the general ones fill up.
    """
    passage = passage_of(spot, study.context)
    own = [BY_NAME[name] for name in BY_KIND.get(spot.kind, ()) if name in BY_NAME]
    chosen = _built(own, passage, study, MOST, FITS_FROM)
    if len(chosen) < FEWEST:
        used = {e.technique for e in chosen}
        others = [BY_NAME[n] for n in GENERAL if n in BY_NAME and n not in used]
        chosen += _built(others, passage, study, FEWEST - len(chosen), 0.0)
    return tuple(chosen)


def first_exercise_for(
    spot: Spot, study: Study
) -> tuple[tuple[Exercise, ...], tuple[Technique, ...]]:
    """The first of `exercises_for`, and the techniques that would follow it, which are not built.

    For a page that shows one exercise and names the others: building them all takes four times as long.
    """
    passage = passage_of(spot, study.context)
    own = [BY_NAME[name] for name in BY_KIND.get(spot.kind, ()) if name in BY_NAME]
    for order, from_ in ((own, FITS_FROM), ([BY_NAME[n] for n in GENERAL if n in BY_NAME], 0.0)):
        first = _built(order, passage, study, 1, from_)
        if first:
            used = first[0].technique
            after = [t for t in order if t.name != used and t.applies(passage, study) >= FITS_FROM]
            return tuple(first), tuple(after[: MOST - 1])
    return (), ()


def exercises_for_passage(passage: Passage, study: Study) -> tuple[Exercise, ...]:
    """Exercises for bars that a teacher chose: the techniques that fit best, best first."""
    fits = [(t.applies(passage, study), -at, t) for at, t in enumerate(TECHNIQUES)]
    ranked = [t for fit, _, t in sorted(fits, key=lambda row: row[:2], reverse=True) if fit > 0]
    return tuple(_built(ranked, passage, study, MOST, FITS_FROM))


def exercise_by(name: str, passage: Passage, study: Study) -> Exercise:
    """The exercise of one technique. Raises `KeyError` for a technique that is none, `DoesNotFitError`
    where it cannot be made of the passage.
    """
    return BY_NAME[name].build(passage, study)


def _built(
    techniques: Iterable[Technique], passage: Passage, study: Study, most: int, from_: float
) -> list[Exercise]:
    rows: list[Exercise] = []
    for technique in techniques:
        if len(rows) == most:
            break
        fit = technique.applies(passage, study)
        if fit < from_ or fit == 0:
            continue
        try:
            rows.append(technique.build(passage, study))
        except DoesNotFitError:
            continue
    return rows
