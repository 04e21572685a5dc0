"""Which exercises are asked for: those of the places, or of bars that the teacher names."""

from __future__ import annotations

import re

from passagework.exercises.choose import exercise_by, exercises_for, exercises_for_passage
from passagework.exercises.exercise import DoesNotFitError
from passagework.exercises.passage import passage_of_bars
from passagework.exercises.table import BY_NAME
from passagework.guide.exercise_page import Offer
from passagework.guide.preparation import Preparation
from passagework.score.piece import Piece
from passagework.spots.table import all_kinds


def offers_for(
    preparation: Preparation,
    bars: str | None = None,
    kind: str | None = None,
    technique: str | None = None,
) -> list[Offer]:
    """The exercises asked for. With neither `bars` nor `kind`, those of every place in the short list.

    Raises `ValueError` with a sentence for the teacher where there are no such bars, kind, technique
    or places.
    """
    names = [k.name for k in all_kinds()]
    if kind is not None and kind not in names:
        raise ValueError(
            f"there is no kind of difficulty '{kind}'; the kinds are {', '.join(names)}"
        )
    if technique is not None and technique not in BY_NAME:
        raise ValueError(
            f"there is no practice technique '{technique}'; they are {', '.join(BY_NAME)}"
        )
    if bars is None and technique is not None:
        raise ValueError("a technique is for bars of your choice; name them with --bars")
    if bars is None:
        spots = [s for s in preparation.spots if s.kind == kind] if kind else preparation.listed
        if not spots:
            raise ValueError(f"no place of the kind '{kind}' was found in this piece")
        return [Offer(s, exercises_for(s, preparation.study)) for s in spots]
    first, last = bar_range(preparation.piece, bars)
    if kind is not None:
        inside = [
            s
            for s in preparation.spots
            if s.kind == kind and any(first <= bar <= last for bar in s.bars)
        ]
        if not inside:
            raise ValueError(f"no place of the kind '{kind}' was found in these bars")
        return [Offer(s, exercises_for(s, preparation.study)) for s in inside]
    passage = passage_of_bars(first, last, preparation.context)
    if technique is None:
        return [Offer(None, exercises_for_passage(passage, preparation.study))]
    try:
        return [Offer(None, (exercise_by(technique, passage, preparation.study),))]
    except DoesNotFitError as error:
        raise ValueError(f"'{technique}' does not fit these bars: {error}") from None


def bar_range(piece: Piece, text: str) -> tuple[int, int]:
    """Bar indices of ``"12-16"`` or ``"12"``, by printed numbers (the first bar of each number).

    Raises `ValueError` where the text is no range or the bars are not there.
    """
    match = re.fullmatch(r"\s*(\w+)\s*(?:[-–]\s*(\w+)\s*)?", text)
    if match is None:
        raise ValueError(f"'{text}' names no bars; write 12-16, or 12 for one bar")
    numbers = {bar.number: bar.index for bar in reversed(piece.bars)}
    low, high = match[1], match[2] or match[1]
    for number in (low, high):
        if number not in numbers:
            raise ValueError(
                f"there is no bar {number}; the piece has bars {piece.bars[0].label} to "
                f"{piece.bars[-1].label}"
            )
    first, last = numbers[low], numbers[high]
    if last < first:
        raise ValueError(f"bars {text}: the first comes after the last")
    return first, last
