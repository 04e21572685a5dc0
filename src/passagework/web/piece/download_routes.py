"""What can be taken away: the guide on paper, the score with fingers, sound as MIDI, a step of an exercise."""

from __future__ import annotations

import re
from typing import Any, Final
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from passagework.teaching.edit_rows import to_row
from passagework.web.pages import page
from passagework.web.piece import download_work, sound_work
from passagework.web.piece.asked import SheetOf, ShelfOf, address, for_script
from passagework.web.piece.sheet import Sheet
from passagework.web.piece.shelf import digest
from passagework.web.piece.sound_routes import SourceOf, sounded

router = APIRouter()

WAIT_S: Final = 1.5
"""Seconds that a request waits before it shows how far the work is."""

PDF, MUSICXML, MIDI = "application/pdf", "application/vnd.recordare.musicxml+xml", "audio/midi"
"""Media types (RFC 8118; W3C MusicXML 4.0; RFC 6295 registers audio of this name)."""


@router.get("/guide.pdf")
def guide(request: Request, shelf: ShelfOf, sheet: SheetOf) -> Response:
    """The guide as the page shows it, for printing."""
    edits = tuple(to_row(edit) for edit, _ in sheet.edits)
    name = sheet.student.name if sheet.student else ""
    what = f"guide/{digest(repr((edits, name, sheet.piece.title)))}"
    more = (edits, name, sheet.piece.title)
    return _made(request, shelf, sheet, what, download_work.guide_pdf, more, PDF, "guide.pdf")


@router.get("/fingered.musicxml")
def fingered(request: Request, shelf: ShelfOf, sheet: SheetOf, sparse: bool = False) -> Response:
    """The score with a finger on every note, or only where an editor would print one."""
    what = f"fingered/{int(sparse)}/{digest(repr(sheet.whose.fixed))}"
    return _made(
        request,
        shelf,
        sheet,
        what,
        download_work.fingered,
        (sparse,),
        MUSICXML,
        "fingered.musicxml",
    )


@router.get("/sound.mid")
def midi(shelf: ShelfOf, sheet: SheetOf, source: SourceOf) -> Response:
    """The score, or a step, as a MIDI file."""
    data = sounded(shelf, sheet, "midi", sound_work.joined, (source, ("left", "right")))
    return _file(sheet, data, MIDI, "midi.mid")


@router.get("/step.musicxml")
def step(sheet: SheetOf, source: SourceOf) -> Response:
    """A step as notation."""
    if source.name != sound_work.STEP_NAME:
        raise HTTPException(404, "Say which step.")
    return _file(sheet, source.notation, MUSICXML, "step.musicxml")


def _made(
    request: Request, shelf: Any, sheet: Sheet, what: str, function: Any, more: tuple[Any, ...],
    media: str, name: str,
) -> Response:  # fmt: skip
    """A file from the cache; the first time a page that waits for it."""
    key = f"file/{what}"
    data = shelf.file(sheet.whose, key)
    if data is None:
        job = shelf.work(sheet.whose, key, function, more, title=f"Making {name}")
        job = shelf.jobs.wait(job.id, WAIT_S)
        data = shelf.file(sheet.whose, key)
        if data is None and job.over:
            raise HTTPException(422, job.error or "That could not be made.")
        if data is None:
            if for_script(request):
                job = shelf.jobs.wait(job.id, 120.0)
                data = shelf.file(sheet.whose, key)
                if data is None:
                    raise HTTPException(422, job.error or "That could not be made.")
                return _file(sheet, data, media, name)
            then = f"{request.url.path}?{request.url.query}".rstrip("?")
            values: dict[str, Any] = {
                "piece": sheet.piece, "student": sheet.student, "job": job, "then": then,
                "back": address(sheet),
            }  # fmt: skip
            return page(request, "piece/making.html", values)
    return _file(sheet, data, media, name)


def _file(sheet: Sheet, data: bytes, media: str, name: str) -> Response:
    """Something to be saved, under a name made from the title."""
    stem = re.sub(r"[^\w-]+", "-", sheet.piece.title.lower()).strip("-")[:60] or "piece"
    full = quote(f"{stem}-{name}" if not name.startswith("midi") else f"{stem}.mid")
    return Response(
        data,
        media_type=media,
        headers={"content-disposition": f"attachment; filename*=UTF-8''{full}"},
    )
