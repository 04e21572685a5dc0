"""In rhythms: even notes long and short, so that every change of finger is once the quick one."""

from __future__ import annotations

from passagework.exercises.alone import hand_alone
from passagework.exercises.edit.rhythm import BY_SIZE, Pattern, change_rhythm
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.runs import Run, find_run, narrowed
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.spots.words_of import capital, counted, number

NAME, TITLE = "rhythms", "In rhythms"

SAYING = {
    "long-short": "Hold the first of every two notes and throw the second one onto the next",
    "short-long": "Let the first of every two notes be quick, and wait on the second",
    "long, then two quick": "Hold the first of every three notes, then two quick ones as one gesture",
    "two quick, then long": "Two quick notes as one gesture, then wait on the third",
    "long, then three quick": "Hold the first of every four notes, then three quick ones as one gesture",
    "three quick, then long": "Three quick notes as one gesture, then wait on the fourth",
}  # fmt: skip
"""What to do, for each pattern."""


def patterns(run: Run) -> tuple[Pattern, ...]:
    """The patterns that fit groups of that many notes; none for five or seven."""
    for size in (4, 3, 2):
        if run.group % size == 0:
            return BY_SIZE[size]
    return ()


def applies(passage: Passage, study: Study) -> float:
    """Best for long even runs of the notes concerned."""
    run = find_run(passage, study)
    if run is None or not patterns(run) or not run.groups():
        return 0.0
    return min(0.4 + 0.05 * len(run.onsets), 0.9)


def build(passage: Passage, study: Study) -> Exercise:
    """One step for each pattern, the hand alone; then as written."""
    whole = passage
    run = find_run(passage, study)
    if run is not None:
        passage = narrowed(passage, study, run)
        run = find_run(passage, study, run.side)
    if run is None:
        raise DoesNotFitError("there is no even run here")
    groups = run.groups()
    alone = hand_alone(passage, study, run.side)
    slow, quick = start_tempo(passage, study), middle_tempo(passage, study)
    where = bars(passage, study)
    steps: list[Step] = []
    for pattern in patterns(run):
        try:
            notation = change_rhythm(alone, groups, pattern)
        except DoesNotFitError:
            continue
        tempo = slow if len(steps) < 2 else quick
        steps.append(
            Step(
                title=capital(pattern.name),
                instruction=f"{SAYING[pattern.name]}: the {run.side} hand of {where} at {tempo_name(tempo)}, every long note in a loose wrist.",
                notation=notation,
                tempo=tempo,
                done_when=three_times(f"the {run.side} hand", tempo, "the quick notes as clear as the long ones"),
                repeat=2,
            )
        )  # fmt: skip
    if not steps:
        raise DoesNotFitError("no rhythm can be written for this run")
    why = (
        f"{hard_at(whole, study)}: {counted(len(run.onsets), 'chord' if run.chords else 'note')} run evenly, {number(run.group)} to a beat. "
        f"Each rhythm lets the hand rest on some of them and practises the joins between the others at speed, "
        f"so that after {number(len(steps))} rhythms every join has been the quick one."
    )
    return exercise(whole, (NAME, TITLE), why, [*steps, as_written(whole, study)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
