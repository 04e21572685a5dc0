"""The music of an assignment: for the spots of the week the first step that is due, engraved as its exercise writes it."""

from __future__ import annotations

from collections.abc import Mapping

from passagework.engraving.draw import System
from passagework.engraving.process import Engraver
from passagework.exercises.choose import exercise_by
from passagework.exercises.exercise import DoesNotFitError, Step
from passagework.exercises.passage import passage_of
from passagework.guide.exercise_page import STEP, drawn
from passagework.guide.preparation import Preparation
from passagework.teaching.assignment import Assignment
from passagework.teaching.assignment_lines import Line

MOST_PICTURES = 4
"""Pictures that an assignment gets at most: a page holds no more."""

HIGHEST_MM = 45.0
"""A picture that is higher than this takes too much of the page."""


def assignment_pictures(
    assignment: Assignment,
    preparations: Mapping[str, Preparation],
    troubles: list[str] | None = None,
) -> dict[int, System]:
    """Engraved music by the number of the line; `preparations` are the pieces by their ids in the plan.

    Lines without an exercise, whose piece is not at hand, or whose step fills more than a line of music have none; music
    that the engraver cannot draw is left out and named in `troubles`.
    """
    said: list[str] = [] if troubles is None else troubles
    steps: dict[int, Step] = {}
    for line in assignment.lines:
        if len(steps) == MOST_PICTURES:
            break
        step = _step(line, preparations)
        if step is not None:
            steps[line.number] = step
    if not steps:
        return {}
    result: dict[int, System] = {}
    with Engraver() as engraver:
        pending = {
            number: engraver.start(step.notation, STEP, natural=True)
            for number, step in steps.items()
        }
        for number, step in steps.items():
            systems = drawn(step, pending[number], said)
            if len(systems) == 1 and systems[0].height_mm <= HIGHEST_MM:
                result[number] = systems[0]
    return result


def _step(line: Line, preparations: Mapping[str, Preparation]) -> Step | None:
    """The first step of the line that is due, built again from its technique."""
    preparation = preparations.get(line.piece_id)
    if preparation is None or not line.technique or not line.steps:
        return None
    spot = next((s for s in preparation.spots if s.id == line.spot_id), None)
    if spot is None:
        return None
    try:
        exercise = exercise_by(
            line.technique, passage_of(spot, preparation.context), preparation.study
        )
    except (DoesNotFitError, KeyError):
        return None
    return exercise.steps[min(line.first_step, len(exercise.steps) - 1)]
