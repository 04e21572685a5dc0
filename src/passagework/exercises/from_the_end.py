"""From the end backwards: the last piece first, then one piece more in front of it each time."""

from __future__ import annotations

from passagework.exercises.edit.part import between
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.spans import beat_words, joins
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, exercise, hard_at
from passagework.score.cut import cut
from passagework.score.notation import Notation
from passagework.score.piece import Position
from passagework.spots.words_of import counted, number

NAME, TITLE = "from-the-end", "From the end backwards"


def applies(passage: Passage, study: Study) -> float:
    """Fits what can be divided; best over several bars, whose ends are always played least."""
    places = joins(passage, study)
    if not places:
        return 0.0
    return 0.55 if len(passage.bars) > 1 else 0.35


def build(passage: Passage, study: Study) -> Exercise:
    """From the last join to the end, from the one before it, and so on; then all as written."""
    places = joins(passage, study)
    if not places:
        raise DoesNotFitError("nothing here can be divided")
    slow, middle, full = (
        start_tempo(passage, study),
        middle_tempo(passage, study),
        full_tempo(passage, study),
    )
    steps: list[Step] = []
    for k, place in enumerate(reversed(places)):
        start = beat_words(passage, study, place)
        tempo = slow if k == 0 else middle
        then = "to the end" if k == 0 else "on into what you know already"
        steps.append(
            Step(
                title=f"From {start}",
                instruction=f"Begin at {start} and play {then}, without looking back to what comes before.",
                notation=_from(passage, study, place),
                tempo=tempo,
                done_when=f"Three times in a row at {tempo_name(tempo)}, the first note as sure as the last.",
                repeat=3,
            )
        )  # fmt: skip
    why = (
        f"{hard_at(passage, study)}: whoever always begins at the beginning plays the end least. From the end, in {number(len(steps) + 1)} "
        f"pieces, every repetition leads into what is known already; it also gives {counted(len(steps), 'place')} to begin from at {tempo_name(full)}."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _from(passage: Passage, study: Study, place: Position) -> Notation:
    """The passage from a position on; whole bars are only cut."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    bar = piece.bar_at(place)
    if bar.onset == place:
        return cut(study.practice(passage), bar.index, len(piece.bars) - 1)
    return between(study.practice(passage), place, piece.end)


TECHNIQUE = Technique(NAME, TITLE, applies, build)
