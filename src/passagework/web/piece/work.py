"""The long work of the page: functions that run in a worker's process (see `passagework.web.jobs`).

What they give are JSON documents as bytes by name, ready for the studio's cache.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any, Final

from passagework.engraving.errors import EngravingError
from passagework.engraving.process import Engraver, Pending
from passagework.engraving.render import shared_engraver, start_score
from passagework.engraving.system import Engraving
from passagework.exercises.choose import exercises_for, exercises_for_passage
from passagework.exercises.passage import passage_of_bars
from passagework.guide.exercise_page import StepEngraver
from passagework.guide.preparation import Preparation
from passagework.hands.alternatives import alternatives
from passagework.hands.hand import Hands
from passagework.spots.spot import SpotHand
from passagework.web.jobs import Report
from passagework.web.piece.exercise_document import exercises_document
from passagework.web.piece.fingers_document import fingers_document
from passagework.web.piece.hold import Fixed, prepared, prepared_with
from passagework.web.piece.places_document import places_document
from passagework.web.piece.score_document import SCORE, score_document

Documents = dict[str, bytes]

MOST_ALTERNATIVES: Final = 4
"""Fingerings shown of a passage, the first one counted."""


def prepare(
    report: Report, score: bytes, name: str, hands: Hands, with_score: bool = True
) -> Documents:
    """The places document and, unless it is there already, the score document.

    The fingering is found beside it, in another worker (`refinger`). Music that cannot be engraved is left out, and the
    warnings say so. Raises `ScoreError`.
    """
    report(0.02, "Reading the score")
    preparation = prepared(score, name, hands)
    pending = start_score(preparation.notation, SCORE) if with_score else None
    report(0.15, f"Looking through {len(preparation.piece.bars)} bars")
    _ = preparation.spots
    report(0.7, "Writing down what was found")
    found = {"places": to_bytes(places_document(preparation))}
    if pending is not None:
        found["score"] = to_bytes(score_document(preparation, *_engraving(pending)))
    return found


def _engraving(pending: Pending) -> tuple[Engraving, str]:
    """The engraved music; nothing and a sentence where it cannot be engraved."""
    try:
        return pending.result(), ""
    except EngravingError as error:
        return Engraving(()), f"The music is not shown: {error}."


def refinger(report: Report, score: bytes, name: str, hands: Hands, fixed: Fixed) -> bytes:
    """The fingers document for other fixed fingers."""
    report(None, "Finding fingers around yours")
    return to_bytes(fingers_document(prepared_with(score, name, hands, fixed)))


def exercises(
    report: Report, score: bytes, name: str, hands: Hands, fixed: Fixed, spot_id: str
) -> bytes:
    """The exercises of a computed spot. Raises `ValueError` where there is no such spot."""
    report(0.1, "Writing the exercises")
    preparation = prepared_with(score, name, hands, fixed)
    spot = next((s for s in preparation.spots if s.id == spot_id), None)
    if spot is None:
        raise ValueError("this place is not in the piece any more; load the page again")
    return _engraved(report, preparation, exercises_for(spot, preparation.study))


def exercises_of_bars(
    report: Report,
    score: bytes,
    name: str,
    hands: Hands,
    fixed: Fixed,
    first_bar: int,
    last_bar: int,
    hand: SpotHand,
) -> bytes:
    """Exercises for bars of the teacher's choice. Raises `ValueError` where there is nothing to practise."""
    report(0.1, "Writing the exercises")
    preparation = prepared_with(score, name, hands, fixed)
    passage = passage_of_bars(first_bar, last_bar, preparation.context, hand)
    return _engraved(report, preparation, exercises_for_passage(passage, preparation.study))


def _engraved(report: Report, preparation: Preparation, made: Sequence[Any]) -> bytes:
    report(0.5, "Engraving the steps")
    engraver: Engraver = shared_engraver()
    return to_bytes(exercises_document(preparation, made, StepEngraver(engraver)))


def other_fingerings(
    report: Report,
    score: bytes,
    name: str,
    hands: Hands,
    fixed: Fixed,
    first_id: str,
    last_id: str,
) -> dict[str, Any]:
    """Fingerings of the notes of one hand between two, the best first, and what each has over the others.

    Raises `ValueError` where the notes are not of one hand.
    """
    report(None, "Trying other fingers")
    preparation = prepared_with(score, name, hands, fixed)
    by_id = preparation.piece.by_id
    if first_id not in by_id or last_id not in by_id:
        raise ValueError("these notes are not in the piece any more; load the page again")
    first, last = by_id[first_id], by_id[last_id]
    if first.hand != last.hand:
        raise ValueError(
            "the passage begins in one hand and ends in the other; choose notes of one"
        )
    rows = alternatives(
        preparation.piece,
        hands,
        first.hand,
        first.id,
        last.id,
        MOST_ALTERNATIVES,
        fixed=dict(fixed),
        respect_printed=True,
        tempo=preparation.context.tempo,
    )
    order = {n.id: at for at, n in enumerate(preparation.piece.notes)}
    return {
        "hand": first.hand,
        "ways": [
            {
                "fingers": [
                    [i, list(f)] for i, f in sorted(row.fingers.items(), key=lambda r: order[r[0]])
                ],
                "buys": list(row.buys),
                "costs": [name for name, amount in row.costs[:3] if amount > 0],
            }
            for row in rows
        ],
    }


def to_bytes(document: Any) -> bytes:
    """A document as UTF-8 JSON."""
    return json.dumps(document, ensure_ascii=False, separators=(",", ":")).encode()
