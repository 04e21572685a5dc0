"""Exercises of a spot as JSON values: words, pictures, and each step's notation, from which its sound is made."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from passagework.engraving.together import music_characters, without_characters
from passagework.exercises.exercise import Exercise, Step
from passagework.exercises.tempos import tempo_name
from passagework.guide.exercise_page import STEP, StepEngraver, drawn
from passagework.guide.preparation import Preparation


def exercises_document(
    preparation: Preparation, exercises: Sequence[Exercise], engraver: StepEngraver
) -> dict[str, Any]:
    """The document, ready for JSON."""
    troubles: list[str] = []
    started = [(exercise, engraver.start(exercise)) for exercise in exercises]
    rows = []
    outlines: dict[str, str] = {}
    for at, (exercise, pending) in enumerate(started):
        bars = range(exercise.first_bar, exercise.last_bar + 1)
        steps: list[dict[str, Any]] = []
        before: list[str] = []
        for number, (step, picture) in enumerate(zip(exercise.steps, pending.pending, strict=True)):
            pictures = drawn(step, picture, troubles)
            music = [p.svg for p in pictures]
            outlines.update(music_characters(music))
            systems = [
                [
                    without_characters(p.svg, f"x{at}-{number}-"),
                    round(min(1.0, p.width_mm / STEP.width_mm), 4),
                ]
                for p in pictures
            ]
            same = bool(music) and music == before
            before = music
            steps.append(_step(preparation, step, [] if same else systems) | {"same": same})
        rows.append(
            {
                "id": exercise.id,
                "technique": exercise.technique,
                "title": exercise.title,
                "why": exercise.why,
                "where": preparation.context.bar_names(bars),
                "first_bar": exercise.first_bar,
                "last_bar": exercise.last_bar,
                "steps": steps,
            }
        )
    return {"exercises": rows, "troubles": troubles, "outlines": outlines}


def _step(preparation: Preparation, step: Step, systems: list[list[Any]]) -> dict[str, Any]:
    by_id = preparation.piece.by_id
    ids = [n.get("id", "") for n in step.notation.notes() if n.find("rest") is None]
    playing = {
        by_id[i].hand if i in by_id else None for i in ids if i not in step.grey
    }  # an id that the technique made is of no hand
    return {
        "title": step.title,
        "instruction": step.instruction,
        "tempo": tempo_name(step.tempo),
        "per_minute": step.tempo.per_minute,
        "beat": str(step.tempo.beat),
        "done_when": step.done_when,
        "repeat": step.repeat,
        "grey": sorted(step.grey),
        "hands": sorted(h for h in playing if h),
        "systems": systems,
        "notation": step.notation.to_bytes().decode("utf-8"),
    }
