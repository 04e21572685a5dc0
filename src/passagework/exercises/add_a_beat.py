"""Adding a beat at a time: a little that is sure, then a little more, always landing on the next beat."""

from __future__ import annotations

from passagework.exercises.edit.part import between
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.spans import beat_words, joins
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at
from passagework.score.piece import Position
from passagework.spots.words_of import number

NAME, TITLE = "add-a-beat", "A little more each time"


def applies(passage: Passage, study: Study) -> float:
    """Fits what can be divided; best for a bar or two, where the pieces are small enough to be sure."""
    places = joins(passage, study)
    if not places:
        return 0.0
    return 0.55 if len(passage.bars) <= 2 else 0.4


def build(passage: Passage, study: Study) -> Exercise:
    """From the first note to the first join, to the second, and so on; then all as written."""
    places = joins(passage, study)
    if not places:
        raise DoesNotFitError("nothing here can be divided")
    tempo, full = start_tempo(passage, study), full_tempo(passage, study)
    quick = middle_tempo(passage, study)
    written = study.practice(passage)
    steps: list[Step] = []
    for k, place in enumerate(places):
        goal = beat_words(passage, study, place)
        added = (
            ""
            if k == 0
            else f" Only what follows {beat_words(passage, study, places[k - 1])} is new."
        )
        speed = tempo if k < 2 else quick
        steps.append(
            Step(
                title=f"To {goal}",
                instruction=f"Play from the start to {goal}, land on it and stop there.{added}",
                notation=between(written, study_start(passage, study), place),
                tempo=speed,
                done_when=f"Three times in a row at {tempo_name(speed)} with the landing sure, hands still on its keys.",
                repeat=3,
            )
        )
    where = bars(passage, study)
    why = (
        f"{hard_at(passage, study)}: too much to be sure of at once. In {number(len(steps) + 1)} pieces, each ending on the first "
        f"note of the next, {where} can be played in time from the first day, and the joins are practised with it, up to {tempo_name(full)}."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def study_start(passage: Passage, study: Study) -> Position:
    """Where the first note of the passage is, from the start of its first bar."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    return min(n.onset for n in piece.notes)


TECHNIQUE = Technique(NAME, TITLE, applies, build)
