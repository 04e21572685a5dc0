"""Takes brought in: a file chosen, a recording or a playing made on the page; all come as files."""

from __future__ import annotations

import contextlib
from datetime import UTC, date, datetime, time
from typing import Annotated, Any, Final

from fastapi import APIRouter, File, Form, HTTPException, Request, UploadFile
from starlette.responses import JSONResponse, Response

from passagework.listening.read_take import is_midi
from passagework.studio.records import TakeDetails
from passagework.studio.takes import MOST_BYTES
from passagework.web import words
from passagework.web.deps import LARGEST_ID, JobsOf, StudioOf
from passagework.web.forms import FormError, Line, Text, day
from passagework.web.notices import go_to
from passagework.web.takes.hearing import listen_to

router = APIRouter(prefix="/takes", tags=["takes"])

Number = Annotated[int, Form(ge=1, le=LARGEST_ID)]
NOON: Final = time(12)
"""The time of a take of which only the day is known."""

EARLIEST: Final = date(1980, 1, 1)
"""No take of a student who is taught now is older; a mistyped year is."""


@router.post("")
def bring(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    file: Annotated[UploadFile, File()],
    student: Number,
    piece: Number,
    on: Line = "",
    notes: Text = "",
) -> Response:
    """Keep a take, and begin to listen to it. The answer leads to its page."""
    data = file.file.read(MOST_BYTES + 1)
    if not data:
        raise HTTPException(422, "Choose a file first: MIDI, WAV, FLAC, Ogg, MP3 or M4A.")
    if len(data) > MOST_BYTES:
        raise HTTPException(413, f"A take has at most {MOST_BYTES // 1_000_000} MB.")
    details = TakeDetails(
        student_id=student,
        piece_id=piece,
        kind="midi" if is_midi(data) else "recording",
        file_name=(file.filename or "").replace("\\", "/").rsplit("/", 1)[-1].strip(),
        media_type=(file.content_type or "").split(";")[0][:120],
        recorded_at=moment(on),
        notes=notes,
    )
    done = studio.takes.add(data, details)
    with contextlib.suppress(
        RuntimeError
    ):  # too much is waiting: it is kept, and can be listened to later
        listen_to(studio, jobs, done.value)
    where = f"/takes/{done.value.id}"
    if "text/html" in request.headers.get("accept", ""):
        return go_to(request, where, "The take is kept.", done.undo)
    return JSONResponse({"take": done.value.id, "page": where})


def moment(on: str) -> datetime | None:
    """The moment of a take of that day; None, which stands for now, for today or an empty field. Raises `HTTPException` 422."""
    try:
        when = day(on, "The day of the take")
    except FormError as error:
        raise HTTPException(422, str(error)) from None
    if when is None or when == words.today():
        return None
    if not EARLIEST <= when < words.today():
        raise HTTPException(422, "The day of the take lies in the future, or too long ago.")
    return datetime.combine(when, NOON).astimezone(UTC)


def pieces_to_choose(studio: Any, student: int) -> list[tuple[int, str]]:
    """The student's pieces at work first, then the other ones of theirs."""
    rows = studio.studies.of_student(student)
    rows = sorted(rows, key=lambda s: s.status != "learning")
    found: dict[int, str] = {}
    for row in rows:
        if row.in_library:
            found.setdefault(row.piece_id, row.piece_title)
    return list(found.items())
