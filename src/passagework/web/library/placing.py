"""Places suggested on a list of levels: level, interval, reasons, neighbours; the teacher takes them or not."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import Any, Final

from fastapi import APIRouter, Request
from starlette.responses import Response

from passagework.studio.computed import ComputedKey
from passagework.studio.errors import NotFoundError
from passagework.studio.piece_records import LevelList, PieceLevel
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import Line
from passagework.web.library.placing_work import ToPlace, placing_job
from passagework.web.notices import go_to
from passagework.web.pages import page

router = APIRouter(prefix="/library/levels", tags=["levels"])

VERSION: Final = "placed/1"


@router.post("/{number}/place")
def place(request: Request, studio: StudioOf, jobs: JobsOf, number: Id) -> Response:
    """Let a worker learn the scale and place every measured piece on it."""
    chosen = _list(studio, number)
    profiles = studio.pieces.profiles()
    pieces = tuple(
        ToPlace(p.id, p.title, _label(p, chosen), dict(profiles[p.id]))
        for p in studio.pieces.all()
        if p.id in profiles
    )

    def keep(data: bytes) -> None:
        studio.computed.put(_key(chosen), data)
        rows = json.loads(data)["rows"]
        studio.pieces.set_level_scores({row["id"]: row["score"] for row in rows})

    job = jobs.submit(
        "levels", placing_job, (chosen.labels, pieces), f"levels:{number}",
        title=f"Placing pieces on {chosen.name}", keep=keep,
    )  # fmt: skip
    return go_to(request, f"/jobs/{job.id}?then=/library/levels/{number}/placed")


@router.get("/{number}/placed")
def show(request: Request, studio: StudioOf, number: Id) -> Response:
    """What was suggested; places that the teacher has given stand beside."""
    chosen = _list(studio, number)
    data = studio.computed.get(_key(chosen))
    if data is None:
        raise NotFoundError("nothing was placed yet", do="let the pieces be placed first")
    now = {p.id: _label(p, chosen) for p in studio.pieces.all()}
    told: dict[str, Any] = json.loads(data)
    rows = [{**row, "own": now[row["id"]]} for row in told["rows"] if row["id"] in now]
    return page(request, "library/placed.html", {"list": chosen, "told": told, "rows": rows})


@router.post("/{number}/placed/{piece}")
def take(request: Request, studio: StudioOf, number: Id, piece: Id, label: Line = "") -> Response:
    """Take a suggestion, or any other level of the list."""
    chosen = _list(studio, number)
    known = studio.pieces.get(piece)
    others = tuple(row for row in known.levels if row.list_name != chosen.name)
    levels = (*others, PieceLevel(list_name=chosen.name, label=label)) if label else others
    done = studio.pieces.change(piece, replace(known, levels=levels))
    return go_to(request, f"/library/levels/{number}/placed", f"{done.label}.", done.undo)


def _list(studio: Any, number: int) -> LevelList:
    rows: tuple[LevelList, ...] = studio.levels.lists()
    for row in rows:
        if row.id == number:
            return row
    raise NotFoundError("there is no such list of levels")


def _label(piece: Any, chosen: LevelList) -> str:
    return next((row.label for row in piece.levels if row.list_name == chosen.name), "")


def _key(chosen: LevelList) -> ComputedKey:
    return ComputedKey(f"levels:{chosen.id}", VERSION)
