"""A take's own page: what was heard, what it changes, and what can be done with it."""

from __future__ import annotations

import json
from typing import Any, Final

from fastapi import APIRouter, HTTPException, Request
from markupsafe import Markup
from starlette.responses import Response

from passagework.engraving.together import characters
from passagework.guide.take_view import Told, compared, picture, shown_kinds, told
from passagework.listening.findings.table import all_finding_kinds
from passagework.spots.table import all_kinds
from passagework.studio.errors import StudioError
from passagework.studio.records import TakeDetails, TakeRecord
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.errors import LOG
from passagework.web.forms import Line, Text, whole
from passagework.web.notices import go_to
from passagework.web.pages import page
from passagework.web.takes.arriving import pieces_to_choose
from passagework.web.takes.hearing import (
    known_piece,
    listen_to,
    music_key,
    plan_key_of,
    waiting_job,
)
from passagework.web.takes.sound import can_sound
from passagework.web.takes.work import RESULT_VERSION
from passagework.web.teaching.evidence import heard_takes

router = APIRouter(prefix="/takes", tags=["takes"])

PLAYABLE: Final = {
    b"RIFF": "audio/wav",
    b"fLaC": "audio/flac",
    b"OggS": "audio/ogg",
    b"ID3": "audio/mpeg",
    b"\xff\xfb": "audio/mpeg",
    b"\xff\xf3": "audio/mpeg",
    b"\x1aE\xdf\xa3": "audio/webm",
    b"MThd": "audio/midi",
}
"""Media types by how a file begins; what a browser said of the file is not believed."""


@router.get("")
def to_hear(request: Request, studio: StudioOf) -> Response:
    """What is to be heard, and what waits."""
    context = {
        "to_hear": studio.takes.to_hear(),
        "waiting": studio.takes.waiting(),
        "students": studio.students.all(),
    }
    return page(request, "takes/all.html", context)


@router.get("/{number}")
def show(request: Request, studio: StudioOf, jobs: JobsOf, number: Id) -> Response:
    """The report of a take, or how far listening is."""
    return _page(request, studio, jobs, number)


def _page(request: Request, studio: Any, jobs: Any, number: int, problem: str = "") -> Response:
    # Asked before the take: a job that ends in between must not leave a page on which nothing happens.
    job, plan_job = waiting_job(jobs, number), jobs.find(plan_key_of(number))
    take = studio.takes.get(number)
    result = studio.takes.result(number, RESULT_VERSION) if take.status == "measured" else None
    context: dict[str, Any] = {
        "take": take,
        "student": studio.students.get(take.student_id),
        "piece": known_piece(studio, take),
        "pieces": pieces_to_choose(studio, take.student_id),
        "job": job,
        "problem": problem,
        "plan_job": plan_job,
        "can_sound": take.kind == "recording" or can_sound(),
        "report": None,
    }
    if result is not None:
        try:
            context |= _report(studio, take, result)
        except (LookupError, TypeError, ValueError, AttributeError) as error:
            # An archive that somebody changed by hand; the page then offers to listen again.
            LOG.warning("the result of take %s is not one: %r", number, error)
    return page(request, "takes/take.html", context, status=422 if problem else 200)


def _report(studio: Any, take: TakeRecord, result: Any) -> dict[str, Any]:
    rows = told(result)
    drawn = studio.computed.get(music_key(take))
    music: dict[str, Any] = (
        json.loads(drawn) if drawn else {"rows": [], "outlines": {}, "trouble": ""}
    )
    heard = next(iter(heard_takes([take])), None)
    titles = {k.name: k.title for k in all_finding_kinds()}
    before = _before(studio, take)
    then = studio.takes.result(before.id, RESULT_VERSION) if before else None
    rows_then, both = compared(result, then, titles) if then else ([], 0)
    plan = studio.plans.latest(take.student_id)
    return {
        "report": rows,
        "first": _first(rows, result["page"]["first"], music["rows"]),
        "signs": Markup(characters(music["outlines"])) if music["outlines"] else "",
        "trouble": music["trouble"],
        "by_bar": sorted(rows, key=lambda r: (r.first_bar, -r.weight)),
        "recognised": result["take"]["recognised"],
        "fit": result["take"]["fit"],
        "warnings": result["take"]["warnings"],
        "picture": picture(result),
        "tempo": result["page"]["tempo"],
        "heard": heard,
        "shown": shown_kinds(heard, {k.name: k.title for k in all_kinds()}),
        "changes": result.get("changes", []),
        "before": before,
        "compared": rows_then,
        "both": both,
        "plan": plan,
    }


def _first(
    rows: list[Told], first: list[int], music: list[Any]
) -> list[tuple[Told, list[tuple[Markup, int]]]]:
    """What to say first, each with its music where that is drawn: systems and their widths in twentieths."""
    drawn = [[(Markup(svg), width) for svg, width in systems] for systems in music]
    return [(rows[at], drawn[k] if k < len(drawn) else []) for k, at in enumerate(first)]


def _before(studio: Any, take: TakeRecord) -> TakeRecord | None:
    """The take of the same piece before this one that was recognised."""
    assert take.recorded_at is not None
    for row in studio.takes.of_student(take.student_id, take.piece_id):
        earlier = (row.recorded_at, row.id) < (take.recorded_at, take.id)
        if earlier and row.status == "measured" and row.summary.get("recognised"):
            found: TakeRecord = row
            return found
    return None


@router.get("/{number}/file")
def file(studio: StudioOf, number: Id) -> Response:
    """The take as it came in."""
    take = studio.takes.get(number)
    data = studio.takes.file(number)
    kind = next((t for start, t in PLAYABLE.items() if data.startswith(start)), "")
    if data[4:8] == b"ftyp":
        kind = "audio/mp4"
    ending = {"audio/midi": ".mid", "audio/wav": ".wav"}.get(kind, "")
    how = "inline" if kind and kind != "audio/midi" else "attachment"
    headers = {"content-disposition": f'{how}; filename="take-{take.id}{ending}"'}
    return Response(data, media_type=kind or "application/octet-stream", headers=headers)


@router.post("/{number}/listen")
def listen_again(request: Request, studio: StudioOf, jobs: JobsOf, number: Id) -> Response:
    """Listen to it, or once more."""
    try:
        listen_to(studio, jobs, studio.takes.get(number))
    except StudioError as error:
        return _page(request, studio, jobs, number, str(error))
    except RuntimeError as error:
        raise HTTPException(503, f"{error}.") from None
    return go_to(request, f"/takes/{number}")


@router.post("/{number}/heard")
def set_heard(request: Request, studio: StudioOf, number: Id, heard: Line = "yes") -> Response:
    """The teacher has heard it, or wants to again."""
    done = studio.takes.heard(number, heard == "yes")
    words = "Heard." if heard == "yes" else "It is to be heard again."
    return go_to(request, f"/takes/{number}", words, done.undo)


@router.post("/{number}/details")
def change(
    request: Request, studio: StudioOf, jobs: JobsOf, number: Id, piece: Line = "", notes: Text = ""
) -> Response:
    """Say of which piece it is, and write a note. Another piece means listening again."""
    take = studio.takes.get(number)
    try:
        chosen = whole(piece, "The piece", 1, 2**53 - 1)
        details = {n: getattr(take, n) for n in TakeDetails.__dataclass_fields__}
        done = studio.takes.change(
            number, TakeDetails(**details | {"piece_id": chosen, "notes": notes})
        )
        if chosen is not None and done.value.status == "waiting":
            listen_to(studio, jobs, done.value)
    except (StudioError, ValueError) as error:
        return _page(request, studio, jobs, number, str(error))
    return go_to(request, f"/takes/{number}", "Kept.", done.undo)


@router.post("/{number}/delete")
def delete(request: Request, studio: StudioOf, jobs: JobsOf, number: Id) -> Response:
    """Take it out; it can come back for a while."""
    take = studio.takes.get(number)
    job = waiting_job(jobs, number)
    if job is not None:
        jobs.cancel(job.id)
    done = studio.takes.delete(number)
    return go_to(request, f"/students/{take.student_id}/takes", "The take is taken out.", done.undo)
