"""Stepping stones: which pieces of the teacher's own library lead up to a piece, in which order."""

from __future__ import annotations

import json
from hashlib import blake2b
from typing import TYPE_CHECKING, Any, Final

from fastapi import APIRouter, Request
from starlette.responses import Response

from passagework.spots.table import all_kinds
from passagework.studio.computed import ComputedKey
from passagework.teaching.skills import skill_values, skills_of
from passagework.web import words
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.pages import page
from passagework.web.teaching.evidence import Known, known_student
from passagework.web.teaching.measured import (
    Measured,
    Wanted,
    from_json,
    known,
    measure,
    reach_of,
    to_json,
)
from passagework.web.teaching.stones_work import MOST_PIECES, StonesAsked, stones_job
from passagework.web.teaching.waiting import waiting_page

if TYPE_CHECKING:
    from passagework.studio.studio import Studio

router = APIRouter(prefix="/students", tags=["readiness"])

VERSION: Final = "stones/1"
LIMIT: Final = 120.0
"""Seconds for a search; a library of three hundred pieces takes a few."""


@router.get("/{student}/ready/{piece}/stones")
def show(request: Request, studio: StudioOf, jobs: JobsOf, student: Id, piece: Id) -> Response:
    """The way to a piece, stone by stone, with the bars that make each of them useful."""
    who = known_student(studio, student)
    target = studio.pieces.get(piece)
    found, missing = known(studio, [Wanted(target.id, target.hash, reach_of(who.record))])
    running = measure(studio, jobs, [*missing, *who.missing])
    title, here = f"The way to {target.title}", f"/students/{student}/ready/{piece}/stones"
    if running:
        return waiting_page(request, running, title, here)
    library = _library(studio, who, piece)
    asked = StonesAsked(
        found[piece].demands, skill_values(skills_of(who.student, words.today())), library
    )
    key = ComputedKey(target.hash, VERSION, _digest(asked))
    data = studio.computed.get(key)
    if data is None:
        job = jobs.submit(
            "stones", stones_job, (asked,), f"stones:{key.name}", title=title, limit=LIMIT,
            keep=lambda result: studio.computed.put(key, result),
        )  # fmt: skip
        return waiting_page(request, [job], title, here)
    context = {
        "student": who.record,
        "piece": target,
        "way": json.loads(data),
        "titles": {kind.name: kind.title for kind in all_kinds()},
    }
    return page(request, "teaching/stones.html", context)


def _library(studio: Studio, who: Known, piece: int) -> tuple[tuple[int, str, dict[str, Any]], ...]:
    """Every other piece that was measured and is not studied yet: for this hand where that is known, else for a hand of mean size."""
    studied = {s.piece_id for s in who.studies}
    rows = [p for p in studio.pieces.all() if p.id != piece and p.id not in studied][:MOST_PIECES]
    reach = reach_of(who.record)
    own, _ = known(studio, [Wanted(p.id, p.hash, reach) for p in rows])
    general = studio.pieces.profiles()
    found = []
    for p in rows:
        body = _body(own.get(p.id), general.get(p.id))
        if body is not None:
            found.append((p.id, p.title, body))
    return tuple(found)


def _body(own: Measured | None, general: Any) -> dict[str, Any] | None:
    if own is not None:
        return to_json(own)
    return dict(general) if general is not None and from_json(general) is not None else None


def _digest(asked: StonesAsked) -> str:
    """Names all that the way depends on."""
    library = [
        (number, title, json.dumps(body, sort_keys=True)) for number, title, body in asked.library
    ]
    text = repr((sorted(asked.secure.items()), library, sorted(asked.goal.kinds.items())))
    return blake2b(text.encode(), digest_size=16).hexdigest()
