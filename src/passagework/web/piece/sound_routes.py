"""The sound of the score and of steps: when what sounds, and the sound itself in lengths."""

from __future__ import annotations

import threading
from collections import OrderedDict
from fractions import Fraction
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Depends, HTTPException, Path, Query, Request
from starlette.responses import JSONResponse, Response

from passagework.sound.perform import FASTEST_QPM, SLOWEST_QPM
from passagework.web.piece import sound_work
from passagework.web.piece.asked import SheetOf, ShelfOf
from passagework.web.piece.edit_routes import LONGEST_NAME
from passagework.web.piece.exercise_routes import exercises_of, shown_spot
from passagework.web.piece.sound_work import STEP_NAME, Source

router = APIRouter()

WAIT_S: Final = 60.0
"""Seconds that a request waits for its sound; it takes a tenth of a second when nothing else is done."""
KEPT_BYTES: Final = 80_000_000
"""Sound that is kept in memory: some ten minutes of both hands."""
MOST_LENGTHS: Final = 2000
SLOWEST, FASTEST = 0.2, 2.0
"""Shares of the piece's own tempo."""


class Heard:
    """Sound that was rendered lately, by name. Safe to share by threads."""

    def __init__(self) -> None:
        self._rows: OrderedDict[str, bytes] = OrderedDict()
        self._bytes = 0
        self._lock = threading.Lock()

    def get(self, name: str) -> bytes | None:
        """The sound of that name."""
        with self._lock:
            found = self._rows.get(name)
            if found is not None:
                self._rows.move_to_end(name)
            return found

    def put(self, name: str, data: bytes) -> None:
        """Keep a sound for a while."""
        with self._lock:
            self._bytes += len(data) - len(self._rows.pop(name, b""))
            self._rows[name] = data
            while self._bytes > KEPT_BYTES and len(self._rows) > 1:
                self._bytes -= len(self._rows.popitem(last=False)[1])


def _heard(request: Request) -> Heard:
    state = request.app.state
    if not hasattr(state, "piece_sound"):
        state.piece_sound = Heard()
    heard: Heard = state.piece_sound
    return heard


def _source(
    shelf: ShelfOf,
    sheet: SheetOf,
    spot: Annotated[str, Query(max_length=LONGEST_NAME)] = "",
    exercise: Annotated[int, Query(ge=0, le=50)] = 0,
    step: Annotated[int, Query(ge=0, le=200)] = 0,
    tempo: Annotated[float, Query(ge=1, le=1000)] = 100.0,
    repeats: bool = False,
) -> Source:
    """What is asked for: the score at `tempo` percent of its own, or a step of an exercise at `tempo` beats a minute."""
    if not spot:
        share = min(max(tempo / 100.0, SLOWEST), FASTEST)
        data = shelf.studio.pieces.score(sheet.piece.id)
        return Source(data, sheet.piece.file_name, scale=share, unfold=repeats)
    _, document = exercises_of(shelf, sheet, shown_spot(sheet, spot))
    if document is None:
        raise HTTPException(409, "Open the exercises of this place first.")
    try:
        found: dict[str, Any] = document["exercises"][exercise]["steps"][step]
    except IndexError:
        raise HTTPException(404, "There is no such step.") from None
    steady = min(max(tempo * float(Fraction(found["beat"])), SLOWEST_QPM), FASTEST_QPM)
    notation = found["notation"].encode()
    return Source(notation, STEP_NAME, steady=steady, grey=tuple(found["grey"]))


SourceOf = Annotated[Source, Depends(_source)]


@router.get("/timeline")
def timeline(shelf: ShelfOf, sheet: SheetOf, source: SourceOf) -> Response:
    """When which note, bar and beat comes, in seconds."""
    found = sounded(shelf, sheet, "timeline", sound_work.timeline, (source,))
    return JSONResponse(found)


@router.get("/sound/{hand}/{at}.wav")
def sound(
    shelf: ShelfOf,
    sheet: SheetOf,
    source: SourceOf,
    heard: Annotated[Heard, Depends(_heard)],
    hand: Literal["left", "right"],
    at: Annotated[int, Path(ge=0, le=MOST_LENGTHS)],
) -> Response:
    """One length of one hand."""
    name = f"{sheet.piece.hash} {source.key} {hand} {at}"
    data = heard.get(name)
    if data is None:
        data = sounded(shelf, sheet, f"sound {hand} {at}", sound_work.length, (source, hand, at))
        heard.put(name, data)
    return Response(data, media_type="audio/wav")


def sounded(shelf: Any, sheet: Any, what: str, function: Any, arguments: tuple[Any, ...]) -> Any:
    """What a short job gives. Raises `HTTPException` where it failed."""
    source = arguments[0]
    job = shelf.jobs.submit(
        "sound",
        function,
        arguments,
        f"{what}:{sheet.piece.hash}:{source.key}",
        title="Sound",
        near=sheet.piece.hash,
    )
    job = shelf.jobs.wait(job.id, WAIT_S)
    if job.state == "done":
        return shelf.jobs.result(job.id)
    if job.error:
        raise HTTPException(422, job.error)
    raise HTTPException(409, "The sound is not ready yet. Try again in a moment.")
