"""Repeated notes with changing fingers: the outline first, then each group with its fingers."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from passagework.exercises.alone import hand_alone
from passagework.exercises.edit.at_notes import with_fingers
from passagework.exercises.edit.blocks import gather
from passagework.exercises.edit.part import between
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.runs import Run, find_run
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.spots.words_of import counted, listed, number

NAME, TITLE = "finger-changes", "Changing fingers on one key"

FEWEST_REPEATS = 2
"""Times that a key is struck again at once, from which there is something to change fingers on."""


def applies(passage: Passage, study: Study) -> float:
    """Fits runs in which most notes strike the key of the one before again."""
    run = find_run(passage, study)
    if run is None:
        return 0.0
    repeats = _repeats(run, passage, study)
    share = repeats / max(len(run.onsets) - 1, 1)
    return min(0.3 + 0.65 * share, 0.95) if repeats >= FEWEST_REPEATS and share >= 0.3 else 0.0


def _repeats(run: Run, passage: Passage, study: Study) -> int:
    by_id = study.cut_piece(passage.first_bar, passage.last_bar).by_id
    keys = [frozenset(by_id[i].midi for i in ids) for ids in run.ids]
    return sum(a == b for a, b in itertools.pairwise(keys))


def build(passage: Passage, study: Study) -> Exercise:
    """The keys without repetition, one group with its fingers, the hand with its fingers, then as written."""
    run = find_run(passage, study)
    if run is None or _repeats(run, passage, study) < FEWEST_REPEATS:
        raise DoesNotFitError("no key is struck again at once here")
    where, slow, middle = (
        bars(passage, study),
        start_tempo(passage, study),
        middle_tempo(passage, study),
    )
    chords = run.chords
    fingers = {} if chords else _fingers(run, study)
    alone = hand_alone(passage, study, run.side)
    fingered = with_fingers(alone, fingers)
    steps = []
    held = _held(run, passage, study)
    if held:
        steps.append(
            Step(
                title="The keys without repetition",
                instruction=f"The {run.side} hand of {where} with every repeated key struck once and held: learn the way before the strokes.",
                notation=gather(alone, held),
                tempo=middle,
                done_when=three_times(f"the {run.side} hand", middle, "the hand over the next key before it is struck"),
                repeat=3,
            )
        )  # fmt: skip
    row = [str(fingers[ids[0]]) for ids in run.ids if ids[0] in fingers][: max(run.group, 3)]
    how = (
        "a loose wrist gives every stroke, the fingers keep their shape"
        if chords
        else f"fingers {listed(row)}, each one drawn off the key so that it can come up"
    )
    group = run.groups()
    if group:
        steps.append(
            Step(
                title="One group",
                instruction=f"Only the first group and the note it leads to: {how}.",
                notation=between(fingered, group[0][0], group[0][-1]),
                tempo=slow,
                done_when=f"Five times in a row at {tempo_name(slow)}, every stroke sounding and none louder than the others.",
                repeat=5,
            )
        )  # fmt: skip
    steps.append(
        Step(
            title="The hand alone with its fingers" if not chords else "The hand alone",
            instruction=f"The whole {run.side} hand: {how}.",
            notation=fingered,
            tempo=slow,
            done_when=three_times(f"the {run.side} hand", slow, "every stroke sounding"),
            repeat=3,
        )
    )
    why = (
        f"{hard_at(passage, study)}: of {counted(len(run.onsets), 'attack')} in a row {number(_repeats(run, passage, study))} strike again what has just been struck. "
        + (
            "A chord is repeated by a hand that lets go each time, not by one that presses."
            if chords
            else "The key must be up before it can go down: changing fingers give it the time."
        )
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _fingers(run: Run, study: Study) -> dict[str, int]:
    given = study.fingering.fingers
    return {i: given[i][0] for ids in run.ids for i in ids if given.get(i)}


def _held(run: Run, passage: Passage, study: Study) -> list[Sequence[str]]:
    """Figures of one key struck again within a pulse, to be struck once."""
    by_id = study.cut_piece(passage.first_bar, passage.last_bar).by_id
    figures: list[list[str]] = []
    before: tuple[frozenset[int], int] | None = None
    for at, ids in zip(run.onsets, run.ids, strict=True):
        keys = frozenset(by_id[i].midi for i in ids)
        pulse = int((at - run.origin) // run.pulse)
        if before == (keys, pulse) and figures:
            figures[-1] += ids
        else:
            figures.append(list(ids))
        before = keys, pulse
    return [f for f in figures if len(f) > 1 and len({by_id[i].onset for i in f}) > 1]


TECHNIQUE = Technique(NAME, TITLE, applies, build)
