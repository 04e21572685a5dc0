"""The tune alone in the hands that play it, then with one hand's accompaniment, then all."""

from __future__ import annotations

import itertools

from passagework.exercises.alone import on_its_staff
from passagework.exercises.edit.take_out import keep_only
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.parts_of import Parts, find_parts
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.piece import Note, Side
from passagework.spots.words_of import counted, listed, note_name, number

NAME, TITLE = "tune-first", "The tune first, then what goes with it"

FEWEST = 3
"""Notes from which there is a tune to play."""


def applies(passage: Passage, study: Study) -> float:
    """Best where the tune changes hands or shares a hand; nothing to take apart where all is tune."""
    parts = find_parts(passage, study)
    if len(parts.notes) < FEWEST or not any(parts.beside.values()):
        return 0.0
    fit = 0.5 + 0.2 * (len(parts.hands) > 1) + 0.2 * bool(parts.split)
    return fit * (0.5 + 0.5 * study.tune.confidence)


def build(passage: Passage, study: Study) -> Exercise:
    """The tune, the tune with each hand's other notes by themselves, both slowly, then as written."""
    parts = find_parts(passage, study)
    if len(parts.notes) < FEWEST or not any(parts.beside.values()):
        raise DoesNotFitError("there is no tune here with something beside it")
    where, middle, slow = (
        bars(passage, study),
        middle_tempo(passage, study),
        start_tempo(passage, study),
    )
    steps = [_alone(parts, passage, study)]
    sides: list[Side] = [s for s in ("left", "right") if parts.beside[s]]
    if len(sides) > 1:
        steps += [
                Step(
                    title=f"The tune with the {side} hand's other notes",
                    instruction=f"Add what the {side} hand plays beside the tune, {counted(_strikes(parts.beside[side], passage, study), 'note')}, so softly that every note of the tune is heard to its end.",
                    notation=on_its_staff(keep_only(study.practice(passage), parts.sung | parts.beside[side])),
                    tempo=middle,
                    done_when=three_times(where, middle, "the tune as it was alone"),
                    repeat=3,
                )
            for side in sides
        ]  # fmt: skip
    steps.append(
        Step(
            title="All, slowly",
            instruction=f"Everything at {tempo_name(slow)}; sing the tune while you play.",
            notation=study.practice(passage),
            tempo=slow,
            done_when=three_times(where, slow, "singing the tune from beginning to end"),
            repeat=3,
        )
    )
    return exercise(
        passage, (NAME, TITLE), _why(parts, passage, study), [*steps, as_written(passage, study)]
    )


def _alone(parts: Parts, passage: Passage, study: Study) -> Step:
    tempo = full_tempo(passage, study)
    who = " and ".join(f"the {s} hand" for s in parts.hands)
    changes = _changes(parts.notes)
    over = (
        f" It goes over at {listed([note_name(n.pitch) for n in changes][:4])}: join the hands so that nobody hears it."
        if changes
        else ""
    )
    return Step(
        title="The tune alone",
        instruction=f"Only the tune of {bars(passage, study)}, {counted(len(parts.notes), 'note')}, in {who} as in the piece, with the fingers you will use there.{over}",
        notation=on_its_staff(keep_only(study.practice(passage), parts.sung)),
        tempo=tempo,
        done_when=three_times("the tune", tempo, "once sung, once played, once both"),
        repeat=3,
    )


def _changes(notes: tuple[Note, ...]) -> list[Note]:
    """The notes with which another hand takes the tune."""
    return [b for a, b in itertools.pairwise(notes) if a.hand != b.hand]


def _strikes(heads: frozenset[str], passage: Passage, study: Study) -> int:
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    return sum(n.id in heads for n in piece.notes)


def _why(parts: Parts, passage: Passage, study: Study) -> str:
    changes = len(_changes(parts.notes))
    beside = sum(_strikes(parts.beside[s], passage, study) for s in ("left", "right"))
    text = f"{hard_at(passage, study)}: {counted(len(parts.notes), 'note')} of tune among {counted(beside, 'other')}"
    if changes:
        text += f", and it changes hands {'once' if changes == 1 else 'twice' if changes == 2 else number(changes) + ' times'}"
    elif parts.split:
        text += f", in a hand that plays both ({listed([f'the {s}' for s in parts.split])})"
    return f"{text}. Who has heard it alone notices when something covers it."


TECHNIQUE = Technique(NAME, TITLE, applies, build)
