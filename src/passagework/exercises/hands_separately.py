"""Hands separately: each hand alone, the other one in grey above or below it, then both."""

from __future__ import annotations

from passagework.exercises.exercise import DoesNotFitError, Exercise, Step, Technique
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.exercises.tempos import full_tempo, middle_tempo, start_tempo, tempo_name
from passagework.exercises.words import as_written, bars, exercise, hard_at, three_times
from passagework.score.piece import Side
from passagework.spots.words_of import counted

NAME, TITLE = "hands-separately", "Hands separately"


def applies(passage: Passage, study: Study) -> float:
    """Best where both hands have much to do; nothing to separate where one of them rests."""
    counts = [_attacks(passage, study, side) for side in ("left", "right")]
    if min(counts) == 0:
        return 0.0
    balance = min(counts) / max(counts)
    return 0.5 + 0.4 * balance if passage.hand == "both" else 0.35 + 0.3 * balance


def _attacks(passage: Passage, study: Study, side: Side) -> int:
    start = study.context.bar(passage.first_bar).onset
    end = study.context.bar(passage.last_bar).end
    return len(study.context.attacks_between(side, start, end))


def build(passage: Passage, study: Study) -> Exercise:
    """The harder hand first, then the other, then both slowly, then as written."""
    sides = _order(passage, study)
    if any(_attacks(passage, study, side) == 0 for side in sides):
        raise DoesNotFitError("one hand has nothing to play here")
    where, start, middle = (
        bars(passage, study),
        start_tempo(passage, study),
        middle_tempo(passage, study),
    )
    written = study.practice(passage)
    steps = [
        Step(
            title=f"{side.capitalize()} hand alone",
            instruction=f"Play the {side} hand of {where} alone, its {counted(_attacks(passage, study, side), 'attack')} in time; hear the grey notes of the other hand without playing them.",
            notation=written,
            tempo=middle,
            done_when=three_times(f"the {side} hand", middle, "without looking at the keys the third time"),
            grey=study.heads_of_hand(passage, _other(side)),
            repeat=3,
        )
        for side in sides
    ]  # fmt: skip
    steps.append(
        Step(
            title="Together, slowly",
            instruction=f"Both hands at {tempo_name(start)}, listening to the {sides[0]} hand.",
            notation=written,
            tempo=start,
            done_when=three_times(
                where, start, f"with the {sides[0]} hand as even as it was alone"
            ),
            repeat=3,
        )
    )
    why = (
        f"{hard_at(passage, study)}: the {sides[0]} hand strikes {_times(passage, study, sides[0])} against "
        f"{_times(passage, study, sides[1])} of the {sides[1]}. Each must run by itself before the two can meet at {tempo_name(full_tempo(passage, study))}."
    )
    return exercise(passage, (NAME, TITLE), why, [*steps, as_written(passage, study)])


def _times(passage: Passage, study: Study, side: Side) -> str:
    return str(_attacks(passage, study, side))


def _order(passage: Passage, study: Study) -> tuple[Side, Side]:
    """The hand in question first; of both the one with more to do."""
    if passage.hand != "both":
        return passage.hand, _other(passage.hand)
    busier: Side = (
        "left" if _attacks(passage, study, "left") > _attacks(passage, study, "right") else "right"
    )
    return busier, _other(busier)


def _other(side: Side) -> Side:
    return "left" if side == "right" else "right"


TECHNIQUE = Technique(NAME, TITLE, applies, build)
