"""Starting places for memory: places to begin at, each known by name and startable by itself."""

from __future__ import annotations

from passagework.exercises.edit.part import between
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.spans import beat_words, joins
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, tempo_name
from passagework.exercises.words import as_written, bars, capital, exercise, hard_at
from passagework.score.piece import Position
from passagework.spots.words_of import counted, listed, note_name

NAME, TITLE = "starting-places", "Starting places for memory"


def applies(passage: Passage, study: Study) -> float:
    """Fits what divides; best for several bars."""
    if not joins(passage, study):
        return 0.0
    return 0.5 if len(passage.bars) > 1 else 0.35


def build(passage: Passage, study: Study) -> Exercise:
    """From each place by heart to the next, the last place first, then the places out of order, then all."""
    inner = joins(passage, study)
    if not inner:
        raise DoesNotFitError("nothing here can be begun by itself")
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    places = (min(n.onset for n in piece.notes), *inner)
    written, tempo = study.practice(passage), middle_tempo(passage, study)
    steps: list[Step] = []
    for k in reversed(range(len(places))):
        end = places[k + 1] if k + 1 < len(places) else piece.end
        where = beat_words(passage, study, places[k])
        steps.append(
            Step(
                title=f"From {where}",
                instruction=f"Name what begins there ({_begins(passage, study, places[k])}), close the book, and play from {where} to the next place.",
                notation=between(written, places[k], end),
                tempo=tempo,
                done_when=f"Three times in a row by heart at {tempo_name(tempo)}, the first notes named before each start.",
                repeat=3,
            )
        )
    names = [beat_words(passage, study, p) for p in places]
    order = [names[k] for k in _mixed(len(names))]
    steps.append(
        Step(
            title="The places out of order",
            instruction=f"Start by heart at {listed(order)}, in this order, and play on to the end of the passage each time.",
            notation=written,
            tempo=tempo,
            done_when=f"Every place starts at once at {tempo_name(tempo)} on two days running; a place that does not goes first next time.",
            repeat=len(names),
        )
    )  # fmt: skip
    where = bars(passage, study)
    why = (
        f"{hard_at(passage, study)}: by heart, a slip only ends at the next place from which you can start. With {counted(len(places), 'place')} in "
        f"{where}, none of them is far; expert players learn such places on purpose (Chaffin, Imreh and Crawford, 2002)."
    )
    last = as_written(
        passage,
        study,
        f"{capital(where)} by heart at {tempo_name(full_tempo(passage, study))}, twice through, then from three places drawn from slips of paper.",
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, last])


def _mixed(count: int) -> list[int]:
    """The places in an order in which none is followed by its neighbour: the even ones, then the odd ones, both
    backwards; of fewer than four, all backwards.
    """
    if count < 4:
        return list(reversed(range(count)))
    return [*reversed(range(0, count, 2)), *reversed(range(1, count, 2))]


def _begins(passage: Passage, study: Study, at: Position) -> str:
    """The highest and the lowest note that begin at a place: ``"C3 and E flat 5"``."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    struck = sorted((n for n in piece.notes if n.onset == at and not n.grace), key=lambda n: n.midi)
    ends = [struck[0], struck[-1]] if len(struck) > 1 else struck
    return listed(list(dict.fromkeys(note_name(n.pitch) for n in ends)))


TECHNIQUE = Technique(NAME, TITLE, applies, build)
