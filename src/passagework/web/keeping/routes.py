"""The page that says what is kept about children and where, and lets it be taken along or away."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator
from typing import IO, Annotated, Any, BinaryIO, Final

from fastapi import APIRouter, File, Path, Query, Request, UploadFile
from starlette.responses import Response, StreamingResponse

from passagework.studio.errors import StudioError
from passagework.web import words
from passagework.web.deps import Id, StudioOf
from passagework.web.library.notes import attachment
from passagework.web.notices import go_to
from passagework.web.pages import page

router = APIRouter(prefix="/keeping", tags=["keeping"])

CHUNK: Final = 1 << 20
IN_MEMORY: Final = 20_000_000
"""Bytes of an archive that are held in memory; a larger one lies in a file without a name until it is sent."""
REASONS: Final = {
    "daily": "of the day",
    "before-upgrade": "before the program was renewed",
    "before-restore": "before a backup was fetched back",
    "before-import": "before an archive was brought in",
    "by-hand": "made by you",
}
BackupName = Annotated[str, Path(max_length=100)]
WithScores = Annotated[bool, Query()]


@router.get("")
def show(request: Request, studio: StudioOf) -> Response:
    """What is kept, where, and how much."""
    return _page(request, studio)


@router.get("/everything.zip")
def export_all(studio: StudioOf, scores: WithScores = True) -> Response:
    """Everything as one open archive."""
    return _archive(
        lambda file: studio.archive.write_all(file, scores), f"studio {words.today()}.zip"
    )


@router.get("/students/{student}/archive.zip")
def export_student(studio: StudioOf, student: Id, scores: WithScores = True) -> Response:
    """One student as an open archive, with nothing of any other."""
    name = studio.students.get(student).name
    return _archive(
        lambda file: studio.archive.write_student(student, file, scores),
        f"{name} {words.today()}.zip",
    )


@router.post("/import")
def bring_in(request: Request, studio: StudioOf, file: Annotated[UploadFile, File()]) -> Response:
    """Bring an archive in; what is here stays, a backup is made before."""
    try:
        report = studio.archive.read(file.file)
    except StudioError as error:
        return _page(request, studio, _sentence(error))
    return page(request, "keeping/brought.html", {"report": report, "file": file.filename or ""})


@router.post("/backups")
def back_up(request: Request, studio: StudioOf) -> Response:
    """Make a backup now."""
    try:
        studio.backups.make()
    except StudioError as error:
        return _page(request, studio, _sentence(error))
    return go_to(request, "/keeping#backups", "A backup is made.")


@router.get("/backups/{name}/restore")
def ask_to_restore(request: Request, studio: StudioOf, name: BackupName) -> Response:
    """What fetching a backup back does, before it is done."""
    backup = studio.backups.get(name)
    return page(request, "keeping/restore.html", {"backup": backup, "reasons": REASONS})


@router.post("/backups/{name}/restore")
def restore(request: Request, studio: StudioOf, name: BackupName) -> Response:
    """Put the studio back to a backup; the state before is a backup too."""
    before = studio.backups.restore(name)
    request.app.state.notices.clear()
    made = f"{words.short_day(before.made_at)}, {words.at_time(before.made_at.astimezone().time())}"
    return go_to(
        request,
        "/keeping#backups",
        f"The backup is fetched back. How it was before is a backup of {made}.",
    )


@router.post("/backups/{name}/delete")
def delete_backup(request: Request, studio: StudioOf, name: BackupName) -> Response:
    """Take a backup away."""
    studio.backups.delete(name)
    return go_to(request, "/keeping#backups", "The backup is deleted.")


@router.post("/computed/clear")
def clear_computed(request: Request, studio: StudioOf) -> Response:
    """Take away what can be worked out again."""
    studio.computed.clear()
    return go_to(
        request,
        "/keeping",
        "What was worked out is cleared; it is worked out again when it is needed.",
    )


def _page(request: Request, studio: Any, problem: str = "") -> Response:
    context = {
        "summary": studio.summary(),
        "students": [*studio.students.all(), *studio.students.all(archived=True)],
        "backups": studio.backups.all(),
        "reasons": REASONS,
        "problem": problem,
    }
    return page(request, "keeping/all.html", context, status=422 if problem else 200)


def _archive(write: Callable[[BinaryIO], object], name: str) -> Response:
    file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115, closed by `_pieces`
    try:
        write(file)  # type: ignore[arg-type]
        size = file.tell()
        file.seek(0)
    except BaseException:
        file.close()
        raise
    headers = {**attachment(name), "content-length": str(size)}
    return StreamingResponse(_pieces(file), media_type="application/zip", headers=headers)


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        while data := file.read(CHUNK):
            yield data


def _sentence(error: StudioError) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}{'' if text.endswith('.') else '.'}"
