"""Scores brought in: read by the workers one after the other, each with its own line on what became of it."""

from __future__ import annotations

import hashlib
import secrets
import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from fastapi import APIRouter, File, Form, HTTPException, Path, Request, UploadFile
from starlette.responses import JSONResponse, Response

from passagework.score.limits import MAX_FILE_BYTES
from passagework.web.deps import JobsOf, StudioOf
from passagework.web.jobs import Job, Jobs, UnknownJobError
from passagework.web.library.facts import facts_job
from passagework.web.pages import page

router = APIRouter(prefix="/library", tags=["library"])

MOST_FILES: Final = 500
FEW: Final = 3
"""So many files somebody waits for; more are read while other work goes first."""
BATCHES_KEPT: Final = 50
BatchName = Annotated[str, Path(max_length=40)]


@dataclass(frozen=True, slots=True)
class Arrival:
    """One file on its way in."""

    name: str
    job: str = ""
    piece: int = 0
    words: str = ""
    state: str = "waiting"
    """As `Job.state`; ``known`` for what was in the library already."""

    @property
    def over(self) -> bool:
        """Whether nothing more will happen to it."""
        return self.state not in {"waiting", "running"}


class Arrivals:
    """What was brought in lately, by batch. Lives as long as the server."""

    def __init__(self) -> None:
        self._batches: OrderedDict[str, list[Arrival]] = OrderedDict()
        self._lock = threading.Lock()

    def begin(self) -> str:
        """A new batch; gives its name."""
        name = secrets.token_urlsafe(8)
        with self._lock:
            self._batches[name] = []
            while len(self._batches) > BATCHES_KEPT:
                self._batches.popitem(last=False)
        return name

    def add(self, batch: str, arrival: Arrival) -> int:
        """Put a file into a batch; gives its place. Raises `KeyError`, or `ValueError` where the batch is full."""
        with self._lock:
            rows = self._batches[batch]
            if len(rows) >= MOST_FILES:
                raise ValueError(f"at most {MOST_FILES} scores are brought in at once")
            rows.append(arrival)
            return len(rows) - 1

    def change(self, batch: str, at: int, **change: Any) -> None:
        """Say what has become of a file."""
        with self._lock:
            rows = self._batches.get(batch)
            if rows is not None:
                rows[at] = replace(rows[at], **change)

    def rows(self, batch: str, jobs: Jobs) -> tuple[Arrival, ...]:
        """The files of a batch as they stand now. Raises `KeyError`."""
        with self._lock:
            rows = tuple(self._batches[batch])
        return tuple(row if row.over else _followed(row, jobs) for row in rows)


def _followed(row: Arrival, jobs: Jobs) -> Arrival:
    try:
        job: Job = jobs.get(row.job)
    except UnknownJobError:
        return replace(row, state="failed", words="This was interrupted; bring the file again.")
    return replace(row, state=job.state, words=job.error or job.words)


@router.post("/scores")
def bring(
    request: Request,
    studio: StudioOf,
    jobs: JobsOf,
    files: Annotated[list[UploadFile], File(max_length=MOST_FILES)],
    batch: Annotated[str, Form(max_length=40)] = "",
) -> Response:
    """Take scores in. The files are read by workers; the answer leads to the page that says how it goes."""
    arrivals: Arrivals = request.app.state.arrivals
    files = [f for f in files if f.filename or f.size]
    if not files:
        raise HTTPException(422, "Choose a file first: MusicXML, MEI, Humdrum kern or MIDI.")
    try:
        name = batch or arrivals.begin()
        for file in files:
            _bring_one(arrivals, name, file, studio, jobs, urgent=len(files) <= FEW and not batch)
    except KeyError:
        raise HTTPException(404, "This page was opened too long ago; begin again.") from None
    except (ValueError, RuntimeError) as error:
        raise HTTPException(422, f"{error}.") from None
    if "text/html" in request.headers.get("accept", ""):
        return Response(status_code=303, headers={"location": f"/library/arrivals/{name}"})
    return JSONResponse({"batch": name})


@router.get("/arrivals/{batch}")
def show(request: Request, jobs: JobsOf, batch: BatchName) -> Response:
    """What has become of what was brought, as a page or as JSON."""
    arrivals: Arrivals = request.app.state.arrivals
    try:
        rows = arrivals.rows(batch, jobs)
    except KeyError:
        raise HTTPException(404, "This was long ago; the library has what was read.") from None
    if "text/html" in request.headers.get("accept", ""):
        return page(request, "library/arrivals.html", {"rows": rows, "batch": batch})
    return JSONResponse({"rows": [_row_json(r) for r in rows], "over": all(r.over for r in rows)})


def _bring_one(
    arrivals: Arrivals, batch: str, file: UploadFile, studio: Any, jobs: Jobs, *, urgent: bool
) -> None:
    name = _shown_name(file.filename or "")
    data = file.file.read(MAX_FILE_BYTES + 1)
    if len(data) > MAX_FILE_BYTES:
        words = f"This is larger than {MAX_FILE_BYTES // 1_000_000} MB, which no score is."
        arrivals.add(batch, Arrival(name, words=words, state="failed"))
        return
    digest = hashlib.sha256(data).hexdigest()
    known = studio.pieces.by_hash(digest)
    if known is not None:
        words = f"In the library already, as {known.title}."
        arrivals.add(batch, Arrival(name, piece=known.id, words=words, state="known"))
        return
    at = arrivals.add(batch, Arrival(name))

    def keep(facts: Any) -> None:
        piece = studio.pieces.add(data, name, facts).piece
        arrivals.change(batch, at, piece=piece.id, state="done", words=piece.title)

    job = jobs.submit(
        "score", facts_job, (data, name), f"score:{digest}", title=f"Reading {name}", urgent=urgent,
        keep=keep,
    )  # fmt: skip
    arrivals.change(batch, at, job=job.id)


def _shown_name(name: str) -> str:
    """A file's name as it is shown, and kept: never a path."""
    return name.replace("\\", "/").rsplit("/", 1)[-1].strip()[-200:] or "score"


def _row_json(row: Arrival) -> dict[str, Any]:
    return {"name": row.name, "state": row.state, "words": row.words, "piece": row.piece or None}


def unread(rows: Sequence[Arrival]) -> int:
    """How many could not be read."""
    return sum(row.state == "failed" for row in rows)
