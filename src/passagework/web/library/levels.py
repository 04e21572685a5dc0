"""The teacher's lists of levels: made by hand, or filled from a table in CSV."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, File, Request, UploadFile
from starlette.responses import Response

from passagework.studio.errors import StudioError
from passagework.web.deps import Id, StudioOf
from passagework.web.forms import Line, Text
from passagework.web.notices import go_to
from passagework.web.pages import page

router = APIRouter(prefix="/library/levels", tags=["levels"])

LARGEST_TABLE = 10_000_000


@router.get("")
def show(request: Request, studio: StudioOf) -> Response:
    """All lists."""
    return _page(request, studio)


@router.post("")
def make(request: Request, studio: StudioOf, name: Line = "", labels: Text = "") -> Response:
    """A new list."""
    try:
        done = studio.levels.make(name, _lines(labels))
    except StudioError as error:
        return _page(request, studio, f"{error}.", name, labels)
    return go_to(request, "/library/levels", f"{done.label}.", done.undo)


@router.post("/{number}")
def change(
    request: Request, studio: StudioOf, number: Id, name: Line = "", labels: Text = ""
) -> Response:
    """Another name, or other levels in another order."""
    try:
        done = studio.levels.change(number, name, _lines(labels))
    except StudioError as error:
        return _page(request, studio, f"{error}.")
    return go_to(request, "/library/levels", f"{done.label}.", done.undo)


@router.post("/{number}/delete")
def delete(request: Request, studio: StudioOf, number: Id) -> Response:
    """Take a list out."""
    done = studio.levels.delete(number)
    return go_to(request, "/library/levels", f"{done.label}.", done.undo)


@router.post("/table/read")
def read_table(
    request: Request,
    studio: StudioOf,
    file: Annotated[UploadFile, File()],
    list_name: Line = "",
) -> Response:
    """Place pieces on a list by a table."""
    data = file.file.read(LARGEST_TABLE + 1)
    try:
        if not data:
            raise StudioError("choose a table first")
        done = studio.levels.import_csv(list_name, data)
    except StudioError as error:
        return _page(request, studio, f"{error}.")
    context = {"result": done.value, "list_name": list_name, "undo": done.undo}
    return page(request, "library/levels_read.html", context)


def _lines(text: str) -> list[str]:
    return [line.strip() for line in text.splitlines() if line.strip()]


def _page(
    request: Request, studio: Any, problem: str = "", name: str = "", labels: str = ""
) -> Response:
    context = {"lists": studio.levels.lists(), "problem": problem, "name": name, "labels": labels}
    return page(request, "library/levels.html", context, status=422 if problem else 200)
