"""Listening to a take, in a worker's process."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from passagework.hands.hand import Hands
from passagework.web.jobs import Report

if TYPE_CHECKING:
    from passagework.guide.preparation import Preparation
    from passagework.listening.listen import Listened

RESULT_VERSION: Final = 3
"""Raised whenever what is kept of a take changes its form."""
READING, LISTENING = 0.02, 0.75
"""Shares of the work at which the take begins to be read, and the piece to be compared with it."""


@dataclass(frozen=True)
class TakeAsked:
    """A take, the piece it is of, and whose it is."""

    take_id: str
    data: bytes
    piece_id: str
    title: str
    score: bytes
    file_name: str
    hands: Hands
    reach_cm: float
    when: date


def listen_job(report: Report, asked: TakeAsked) -> dict[str, Any]:
    """What the take shows, as it is kept: ``{"summary", "result"}``, or ``{"failed"}`` with one line. Raises `ScoreError`."""
    from passagework.listening.errors import TakeError
    from passagework.listening.listen import listen
    from passagework.listening.read_take import read_take
    from passagework.web.piece.hold import prepared

    def heard_so_far(_what: str, share: float) -> None:
        report(READING + (LISTENING - READING) * share, "Hearing the recording")

    report(READING, "Reading the take")
    try:
        take = read_take(asked.data, progress=heard_so_far)
    except TakeError as error:
        words = str(error)
        return {"failed": words[:1].upper() + words[1:]}
    report(LISTENING, "Reading the score")
    preparation = prepared(asked.score, asked.file_name, asked.hands)
    report(0.85, "Laying the take along the score")
    listened = listen(preparation.context, take)
    report(0.95, "Writing down what was heard")
    return kept(asked, preparation, listened)


def kept(asked: TakeAsked, preparation: Preparation, listened: Listened) -> dict[str, Any]:
    """What is kept of a take: a summary for lists and for teaching, and everything for the report."""
    from passagework.guide.take_document import take_document
    from passagework.guide.take_page import take_page, tempo_of

    document = take_document(listened, preparation.spots)
    tempo = tempo_of(listened)
    summary: dict[str, Any] = {
        "recognised": listened.recognised,
        "findings": dict(Counter(f.kind for f in listened.findings)),
        "tempo": tempo,
        "bars": len(
            {b for p in listened.alignment.passes for b in range(p.first_bar, p.last_bar + 1)}
        ),
        "seconds": round(listened.take.length, 1),
        "warnings": len(listened.take.warnings),
    }
    if listened.recognised:
        summary["heard"] = _heard(asked, preparation, listened)
    page = take_page(preparation, listened)
    return {"summary": summary, "result": {"take": document, "page": page}}


def _heard(asked: TakeAsked, preparation: Preparation, listened: Listened) -> dict[str, Any]:
    from passagework.demands.grid import lay_out
    from passagework.demands.measure import measure_demands
    from passagework.demands.reference import reference_candidates
    from passagework.hands.hand import Hand
    from passagework.spots.context import Context
    from passagework.teaching import stored
    from passagework.teaching.heard import hear
    from passagework.web.teaching.evidence import HEARD_FORMAT

    # For the same reach as everything else that this student's skills are laid against.
    context = Context(preparation.piece, Hand(asked.reach_cm))
    occurrences = reference_candidates(lay_out(context))
    demands = measure_demands(context, candidates=occurrences)
    found = hear(
        asked.take_id, asked.piece_id, asked.title, asked.when, listened.heard, listened.findings, demands, occurrences
    )  # fmt: skip
    return stored.write(found, HEARD_FORMAT)
