"""Groups with a stop: a few notes at speed, then a wait on the note that follows, then longer groups."""

from __future__ import annotations

from passagework.exercises.alone import hand_alone
from passagework.exercises.edit.retime import hold
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.runs import Run, find_run, narrowed
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at
from passagework.score.piece import Position
from passagework.spots.words_of import counted, listed, number

NAME, TITLE = "groups-with-stops", "Groups with a stop"

STRIDES = (1, 2)
"""Beats from one stop to the next, step by step."""


def applies(passage: Passage, study: Study) -> float:
    """Best for runs over several beats."""
    run = find_run(passage, study)
    if run is None or len(_stops(run, 1)) < 1:
        return 0.0
    return min(0.4 + 0.1 * len(_stops(run, 1)), 0.85)


def _stops(run: Run, stride: int) -> dict[Position, Position]:
    """Where the stops are, each with the end of the note that is stopped on."""
    places = run.on_pulse
    places = places[1:] if places and places[0] == 0 else places
    chosen = places[stride - 1 :: stride]
    return {
        run.onsets[k]: run.onsets[k + 1] if k + 1 < len(run.onsets) else run.onsets[k] + run.step
        for k in chosen
        if k + 1 < len(run.onsets)
    }


def build(passage: Passage, study: Study) -> Exercise:
    """A stop on every beat, then on every second one, then as written."""
    whole = passage
    run = find_run(passage, study)
    if run is not None:
        passage = narrowed(passage, study, run)
        run = find_run(passage, study, run.side)
    if run is None:
        raise DoesNotFitError("there is no even run here")
    alone = hand_alone(passage, study, run.side)
    where = bars(passage, study)
    tempos = (start_tempo(passage, study), middle_tempo(passage, study))
    steps: list[Step] = []
    for stride, tempo in zip(STRIDES, tempos, strict=True):
        stops = _stops(run, stride)
        if not stops:
            continue
        notation = hold(alone, stops, run.pulse + run.step)
        size = run.group * stride
        steps.append(
            Step(
                title=f"Groups of {number(size)}",
                instruction=f"In the {run.side} hand of {where}, {number(size)} notes as one gesture, then wait on the next one until the wrist is loose and the coming group is under the fingers.",
                notation=notation,
                tempo=tempo,
                done_when=f"Every group even at {tempo_name(tempo)}, {number(len(stops))} {'stop' if len(stops) == 1 else 'stops'} and none beside them, three times in a row.",
                repeat=3,
            )
        )  # fmt: skip
    if not steps:
        raise DoesNotFitError("the stops cannot be written")
    full = full_tempo(passage, study)
    sizes = listed([number(run.group * k) for k in STRIDES[: len(steps)]])
    what = counted(len(run.onsets), "chord" if run.chords else "note")
    why = (
        f"{hard_at(whole, study)}: {what} in a row leave no moment to let go. Stopped after "
        f"{sizes.replace(' and ', ' and then after ')}, what is quick stays short enough to be clean on the way to {tempo_name(full)}, "
        "and each stop is a whole beat, so that the metronome can go on."
    )
    return exercise(whole, (NAME, TITLE), why, [*steps, as_written(whole, study)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
