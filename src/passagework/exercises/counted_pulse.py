"""A rhythm against the pulse: one hand plays, the other taps, first the short notes, then the beats."""

from __future__ import annotations

from fractions import Fraction

from passagework.exercises.alone import busy_side, other
from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.pulse import against_pulse
from passagework.exercises.study import Study
from passagework.exercises.taps import tap
from passagework.exercises.tempos import middle_tempo, start_tempo
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.piece import TimeSignature
from passagework.spots.words_of import counted

NAME, TITLE = "counted-pulse", "Against a tapped pulse"

RHYTHMS = frozenset({"syncopation", "dotted-rhythm", "changing-divisions", "hands-together"})
"""Kinds of difficulty that are difficulties of rhythm."""


def applies(passage: Passage, study: Study) -> float:
    """Best for difficulties of rhythm; needs a hand that is free to tap, on a staff of its own."""
    if study.piece.staves != 2:
        return 0.0
    side = busy_side(passage, study)
    if not study.heads_of_hand(passage, side):
        return 0.0
    return 0.85 if passage.spot and passage.spot.kind in RHYTHMS else 0.25


def _short(passage: Passage, study: Study, time: TimeSignature) -> Fraction | None:
    """The even part of the beat on which all attacks of the hand fall; None where there is none to tap."""
    heads = study.heads_of_hand(passage, busy_side(passage, study))
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    places = [
        n.onset - piece.bars[n.bar].onset for n in piece.notes if n.id in heads and not n.grace
    ]
    for parts in (2, 3, 4):
        step = time.beat / parts
        if all(at % step == 0 for at in places) and not all(at % time.beat == 0 for at in places):
            return step
    return None


def build(passage: Passage, study: Study) -> Exercise:
    """Against the short notes, against the beats, both hands' rhythm tapped, then as written."""
    side, where = busy_side(passage, study), bars(passage, study)
    heads = study.heads_of_hand(passage, side)
    if study.piece.staves != 2 or not heads:
        raise DoesNotFitError("no hand is free to tap on a staff of its own")
    slow, middle = start_tempo(passage, study), middle_tempo(passage, study)
    time = study.context.bar(passage.first_bar).time
    tapping = other(side)
    short = _short(passage, study, time)
    steps = []
    if short is not None:
        steps.append(
            Step(
                title="Against the short notes",
                instruction=f"The {tapping} hand taps {counted(int(time.beat / short), 'note')} to every beat on one key; the {side} plays its notes exactly with the taps they belong to.",
                notation=against_pulse(passage, study, heads, side, short),
                tempo=slow,
                done_when=three_times(f"the {side} hand", slow, "every note with its tap"),
                repeat=3,
            )
        )  # fmt: skip
    steps.append(
        Step(
            title="Against the beats",
            instruction=f"Now the {tapping} hand taps the beats only, and the {side} keeps its notes where they were.",
            notation=against_pulse(passage, study, heads, side),
            tempo=middle,
            done_when=three_times(f"the {side} hand", middle, "no tap moved by what the other hand does"),
            repeat=3,
        )
    )  # fmt: skip
    rest = study.heads_of_hand(passage, tapping)
    if rest:
        upper, lower = (heads, rest) if side == "right" else (rest, heads)
        try:
            tapped = tap(study.practice(passage), upper, lower)
        except DoesNotFitError:
            tapped = None
        if tapped is not None:
            steps.append(
                Step(
                    title="Both rhythms tapped",
                    instruction=f"The rhythm of both hands in {where} on one key each, the right above and the left below, counting the beats aloud.",
                    notation=tapped,
                    tempo=middle,
                    done_when=three_times("the tapped rhythm", middle, "with the count never stopping"),
                    repeat=3,
                )
            )  # fmt: skip
    struck = len(study.context.attacks_between(
        side, study.context.bar(passage.first_bar).onset, study.context.bar(passage.last_bar).end
    ))  # fmt: skip
    why = (
        f"{hard_at(passage, study)}: {counted(struck, 'attack')} of the {side} hand have to find their place between the beats. "
        "A pulse that is tapped cannot bend to the rhythm, as one that is only thought does."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


TECHNIQUE = Technique(NAME, TITLE, applies, build)
