"""The tune loud and the rest soft beyond need, so that the need itself becomes easy."""

from __future__ import annotations

from passagework.exercises.edit.loudness import HIGH, LOW, Sign, with_loudness
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.parts_of import SIDES, Parts, find_parts
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.notation import Notation
from passagework.score.piece import Note, Side
from passagework.spots.words_of import counted, listed

NAME, TITLE = "balance", "Tune loud, the rest soft beyond need"

FEWEST = 3
"""Notes from which there is a tune to bring out."""

VELOCITY_STEPS = "10 to 20 velocity steps"
"""How far a tune stands above its accompaniment in expert playing (Goebl, 2001)."""


def applies(passage: Passage, study: Study) -> float:
    """Best where one hand must play at two loudnesses."""
    parts = find_parts(passage, study)
    if len(parts.notes) < FEWEST or not any(parts.beside.values()):
        return 0.0
    fit = 0.9 if parts.split else 0.55
    return fit * (0.5 + 0.5 * study.tune.confidence)


def build(passage: Passage, study: Study) -> Exercise:
    """The rest only touched, then soft beyond need, then as written."""
    parts = find_parts(passage, study)
    if len(parts.notes) < FEWEST or not any(parts.beside.values()):
        raise DoesNotFitError("there is no tune here with something beside it")
    slow, middle, where = (
        start_tempo(passage, study),
        middle_tempo(passage, study),
        bars(passage, study),
    )
    silent = frozenset().union(*parts.beside.values())
    loud = _written(parts, passage, study, rest=False)
    steps = [
        Step(
            title="The rest without sound",
            instruction=f"Play the tune of {where} loud and full; lay the fingers on the grey notes in time, and do not let them sound.",
            notation=loud,
            tempo=slow,
            done_when=three_times(where, slow, "every grey key touched and none of them heard"),
            grey=silent,
            repeat=3,
        ),
        Step(
            title="Tune loud, the rest as soft as it will sound",
            instruction="More difference than the music needs: the tune from the weight of the arm, everything else from the surface of the keys.",
            notation=_written(parts, passage, study, rest=True),
            tempo=slow,
            done_when=three_times(where, slow, "every note of the tune heard until the next one comes"),
            repeat=3,
        ),
        Step(
            title="As loud as the page says, the difference kept",
            instruction=f"At {tempo_name(middle)}, with the loudness that is written; the tune still stands clear of the rest.",
            notation=study.practice(passage),
            tempo=middle,
            done_when=three_times(where, middle, "the tune never covered"),
            repeat=3,
        ),
    ]  # fmt: skip
    return exercise(
        passage, (NAME, TITLE), _why(parts, passage, study), [*steps, as_written(passage, study)]
    )


def _written(parts: Parts, passage: Passage, study: Study, *, rest: bool) -> Notation:
    """The passage with a loud sign where each hand begins the tune, and a soft one for what it plays beside."""
    start = study.context.bar(passage.first_bar).onset
    tune: dict[Side, Note] = {}
    for note in parts.notes:
        tune.setdefault(note.hand, note)
    signs: list[Sign] = []
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    for side in SIDES:
        first = tune.get(side)
        if first is not None:
            at = max(first.onset - start, piece.bars[0].onset)
            signs.append(
                Sign(at, "f", first.staff, _tune_place(parts, passage, study, side), "tune")
            )
        beside = [n for n in piece.notes if n.id in parts.beside[side] and n.duration]
        if rest and beside:
            note = beside[0]
            place = LOW
            if first is not None and _tune_place(parts, passage, study, side) == LOW:
                place = HIGH
            signs.append(Sign(note.onset, "ppp", note.staff, place))
    return with_loudness(study.practice(passage), signs)


def _tune_place(parts: Parts, passage: Passage, study: Study, side: Side) -> str:
    """Above the staff, but below it where the tune lies under what the hand plays beside it."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    own = [n.midi for n in parts.notes if n.hand == side]
    beside = [n.midi for n in piece.notes if n.id in parts.beside[side]]
    if not own or not beside:
        return HIGH
    return HIGH if sum(own) / len(own) >= sum(beside) / len(beside) else LOW


def _why(parts: Parts, passage: Passage, study: Study) -> str:
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    others = sum(n.id in parts.beside[s] for s in SIDES for n in piece.notes)
    reason = (
        f"the {listed([str(s) for s in parts.split])} hand plays the tune and something beside it"
        if len(parts.split) == 1
        else "both hands play tune and something beside it"
        if parts.split
        else f"{counted(len(parts.notes), 'note')} of tune must carry over {others} others"
    )
    return (
        f"{hard_at(passage, study)}: {reason}. Expert players keep a tune {VELOCITY_STEPS} above what goes with it (Goebl, 2001); "
        "who can do more than that slowly can do that much in time."
    )


TECHNIQUE = Technique(NAME, TITLE, applies, build)
