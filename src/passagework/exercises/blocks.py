"""In blocks: broken chords struck as the chords they are made of, to learn the grips and their changes."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from passagework.exercises.alone import hand_alone
from passagework.exercises.edit.blocks import gather
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.runs import Run, find_run, narrowed
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.hands.keyboard import key_mm
from passagework.score.piece import Note
from passagework.spots.words_of import counted, number

NAME, TITLE = "blocks", "In blocks"

FEWEST_IN_BLOCK, MOST_IN_BLOCK = 3, 5
"""Keys of a block: a chord has three, a hand five fingers."""

NEAREST = 3
"""Semitones between neighbours of a chord; one pair may be closer (a seventh chord turned over)."""


def applies(passage: Passage, study: Study) -> float:
    """By the share of the run that gathers into chords the hand can hold."""
    run = find_run(passage, study)
    if run is None:
        return 0.0
    figures = find_figures(run, passage, study)
    if len(figures) < 2:
        return 0.0
    share = sum(len(f) for f in figures) / max(len(run.onsets), 1)
    return min(0.3 + 0.65 * share, 0.95) if share >= 0.5 else 0.0


def find_figures(run: Run, passage: Passage, study: Study) -> list[tuple[str, ...]]:
    """Figures of the run that are a chord under the hand: beats joined up to half a bar while they stay one grip."""
    by_id = study.cut_piece(passage.first_bar, passage.last_bar).by_id
    places = {at: k for k, at in enumerate(run.onsets)}
    figures: list[list[str]] = []
    bars_of: list[int] = []
    for group in run.groups():
        ids = [i for at in group[:-1] for i in run.ids[places[at]]]
        notes = [by_id[i] for i in ids]
        if len({n.voice for n in notes}) != 1 or len({n.bar for n in notes}) != 1:
            continue
        if figures and bars_of[-1] == notes[0].bar:
            joined = [by_id[i] for i in figures[-1]] + notes
            follows = notes[0].onset == by_id[figures[-1][-1]].onset + run.step
            same = {n.voice for n in joined} == {notes[0].voice}
            short = (
                2 * (joined[-1].onset + run.step - joined[0].onset)
                <= study.context.bar(passage.first_bar + notes[0].bar).time.length
            )
            if follows and same and short and _is_grip(joined, study):
                figures[-1] += ids
                continue
        if _is_grip(notes, study):
            figures.append(ids)
            bars_of.append(notes[0].bar)
    return [tuple(f) for f in figures]


def _is_grip(notes: Sequence[Note], study: Study) -> bool:
    keys = sorted({n.midi for n in notes})
    if not FEWEST_IN_BLOCK <= len(keys) <= MOST_IN_BLOCK:
        return False
    close = sum(b - a < NEAREST for a, b in itertools.pairwise(keys))
    wide = key_mm(keys[-1]) - key_mm(keys[0])
    return close <= 1 and wide <= study.context.hand.largest_mm


def build(passage: Passage, study: Study) -> Exercise:
    """The hand alone in blocks, both hands with the blocks, then as written."""
    whole = passage
    run = find_run(passage, study)
    if run is not None:
        passage = narrowed(passage, study, run)
        run = find_run(passage, study, run.side)
    figures = find_figures(run, passage, study) if run else []
    if run is None or len(figures) < 2:
        raise DoesNotFitError("the notes do not gather into chords that a hand can hold")
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    where = bars(passage, study)
    alone = gather(hand_alone(passage, study, run.side), figures)
    steps = [
        Step(
            title="Blocks, hand alone",
            instruction=f"Strike the {counted(len(figures), 'figure')} of the {run.side} hand in {where} as chords, and move to the next grip as soon as one has sounded.",
            notation=alone,
            tempo=slow,
            done_when=three_times(f"the {number(len(figures))} chords", slow, "each grip over its keys before it is struck"),
            repeat=3,
        )
    ]  # fmt: skip
    if study.heads_of_hand(passage, "left" if run.side == "right" else "right"):
        steps.append(
            Step(
                title="Blocks with the other hand",
                instruction=f"The same chords at {tempo_name(middle)}, the other hand as written.",
                notation=gather(study.practice(passage), figures),
                tempo=middle,
                done_when=three_times(where, middle, "no chord late"),
                repeat=3,
            )
        )
    changes = _changes(figures, passage, study)
    why = (
        f"{hard_at(whole, study)}: what looks like {len(run.onsets)} single notes is {counted(len(figures), 'grip')} of the {run.side} hand, "
        + (
            f"with {counted(changes, 'change')} of keys between them. Whoever knows these has the notes."
            if changes
            else "all on the same keys. Whoever has them under the fingers has the notes."
        )
    )
    return exercise(whole, (NAME, TITLE), why, [*steps, as_written(whole, study)])


def _changes(figures: Sequence[Sequence[str]], passage: Passage, study: Study) -> int:
    """How often the keys of a figure are not those of the one before."""
    by_id = study.cut_piece(passage.first_bar, passage.last_bar).by_id
    grips = [frozenset(by_id[i].midi for i in figure) for figure in figures]
    return sum(a != b for a, b in itertools.pairwise(grips))


TECHNIQUE = Technique(NAME, TITLE, applies, build)
