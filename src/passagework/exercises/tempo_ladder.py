"""Slow, then up a ladder of tempos, one rung after three clean times."""

from __future__ import annotations

from passagework.exercises.exercise import Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, ladder, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.spots.words_of import counted, number, tempo_source

NAME, TITLE = "tempo-ladder", "Slowly, then up a ladder of tempos"


def applies(passage: Passage, study: Study) -> float:
    """Fits everything that is hard by its speed; least what is easy."""
    return 0.3 + 0.3 * passage.severity if len(ladder(passage, study)) > 1 else 0.0


def build(passage: Passage, study: Study) -> Exercise:
    """One step a rung, each the whole passage."""
    where, full = bars(passage, study), full_tempo(passage, study)
    rungs = [t for t in ladder(passage, study) if t != full]
    steps = []
    for k, tempo in enumerate(rungs):
        first = k == 0
        steps.append(
            Step(
                title=f"Rung {number(k + 1)}: {tempo_name(tempo)}",
                instruction=(
                    f"Play {where} at {tempo_name(tempo)}, slow enough that every finger is on its key before it plays."
                    if first
                    else f"One rung up, {tempo_name(tempo)}; after two failures in a row go back to {tempo_name(rungs[k - 1])}."
                ),
                notation=study.practice(passage),
                tempo=tempo,
                done_when=three_times(where, tempo, "with no stop and no wrong note"),
                repeat=3,
            )
        )
    why = (
        f"{hard_at(passage, study)}: the goal is {tempo_name(full)}, {_basis(passage, study)}. From {tempo_name(rungs[0])} "
        f"it takes {counted(len(rungs), 'rung')} to get there, none of them a jump the hand would notice."
        if rungs
        else f"{hard_at(passage, study)}: slow enough to be played as it is."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _basis(passage: Passage, study: Study) -> str:
    """Where the goal comes from: ``"the printed metronome mark"``."""
    source = tempo_source(study.context, study.context.bar(passage.first_bar).onset)
    return source if source.startswith("assumed") else f"the {source}"


TECHNIQUE = Technique(NAME, TITLE, applies, build)
