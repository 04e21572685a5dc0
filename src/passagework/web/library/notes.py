"""What the teacher notes about a piece: title, tags, books it is printed in, levels, background with its source."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import APIRouter, Form, Request, UploadFile
from pydantic import Field
from starlette.responses import Response

from passagework.score.limits import MAX_FILE_BYTES
from passagework.studio.errors import StudioError
from passagework.studio.piece_records import (
    Background,
    Edition,
    PieceDetails,
    PieceLevel,
    PieceRecord,
)
from passagework.web.deps import Id, JobsOf, StudioOf
from passagework.web.forms import LONGEST_LINE, LONGEST_TEXT, MOST_TICKS, Filled
from passagework.web.library.facts import facts_job
from passagework.web.notices import go_to
from passagework.web.pages import page

router = APIRouter(prefix="/library", tags=["library"])

SPARE_ROWS = 1
"""Empty rows to write a further book or background into."""

Short = Annotated[str, Field(max_length=LONGEST_LINE)]
Long = Annotated[str, Field(max_length=LONGEST_TEXT)]
Shorts = Annotated[tuple[Short, ...], Field(max_length=MOST_TICKS)]
Longs = Annotated[tuple[Long, ...], Field(max_length=MOST_TICKS)]


class NotesForm(Filled):
    """What the fields hold; rows of a table are lists of the same length."""

    own_title: Short = ""
    own_composer: Short = ""
    tags: Long = ""
    notes: Long = ""
    edition_title: Shorts = ()
    edition_publisher: Shorts = ()
    edition_place: Shorts = ()
    edition_notes: Shorts = ()
    level_list: Shorts = ()
    level_label: Shorts = ()
    background_text: Longs = ()
    background_source: Shorts = ()

    def details(self) -> PieceDetails:
        """What is meant; rows without a first word are left out."""
        editions = _rows(
            self.edition_title, self.edition_publisher, self.edition_place, self.edition_notes
        )
        return PieceDetails(
            own_title=self.own_title,
            own_composer=self.own_composer,
            notes=self.notes,
            tags=tuple(dict.fromkeys(t.strip() for t in self.tags.split(",") if t.strip())),
            editions=tuple(
                Edition(title=a, publisher=b, place=c, notes=d) for a, b, c, d in editions
            ),
            levels=tuple(
                PieceLevel(list_name=name.strip(), label=label.strip())
                for name, label in _rows(self.level_list, self.level_label)
                if label.strip()
            ),
            backgrounds=tuple(
                Background(text=text, source=source)
                for text, source in _rows(self.background_text, self.background_source)
            ),
        )


def _rows(first: Sequence[str], *others: Sequence[str]) -> list[tuple[str, ...]]:
    """The lists side by side, as far as the first has something; what is missing of the others is empty."""
    rows = []
    for at, value in enumerate(first):
        if value.strip():
            rows.append((value, *(other[at] if at < len(other) else "" for other in others)))
    return rows


def filled(piece: PieceRecord) -> NotesForm:
    """The form as it stands for a piece."""
    return NotesForm(
        own_title=piece.own_title,
        own_composer=piece.own_composer,
        tags=", ".join(piece.tags),
        notes=piece.notes,
        edition_title=tuple(e.title for e in piece.editions),
        edition_publisher=tuple(e.publisher for e in piece.editions),
        edition_place=tuple(e.place for e in piece.editions),
        edition_notes=tuple(e.notes for e in piece.editions),
        level_list=tuple(row.list_name for row in piece.levels),
        level_label=tuple(row.label for row in piece.levels),
        background_text=tuple(b.text for b in piece.backgrounds),
        background_source=tuple(b.source for b in piece.backgrounds),
    )


@router.get("/{piece}")
def show(request: Request, studio: StudioOf, piece: Id) -> Response:
    """What is known and noted of a piece."""
    known = studio.pieces.get(piece)
    return _form(request, studio, known, filled(known))


@router.post("/{piece}")
def change(
    request: Request, studio: StudioOf, piece: Id, form: Annotated[NotesForm, Form()]
) -> Response:
    """Write down what is noted."""
    known = studio.pieces.get(piece)
    try:
        done = studio.pieces.change(piece, form.details())
    except StudioError as error:
        return _form(request, studio, known, form, f"{error}.")
    return go_to(request, f"/library/{piece}", f"{done.label}.", done.undo)


@router.post("/{piece}/delete")
def delete(request: Request, studio: StudioOf, piece: Id) -> Response:
    """Take a piece out of the library; it can be fetched back."""
    done = studio.pieces.delete(piece)
    return go_to(request, "/library", f"{done.label}.", done.undo)


@router.post("/{piece}/fetch")
def fetch(request: Request, studio: StudioOf, piece: Id) -> Response:
    """Fetch a deleted piece back."""
    done = studio.pieces.restore(piece)
    return go_to(request, "/library", f"{done.label}.", done.undo)


@router.get("/{piece}/score")
def download(studio: StudioOf, piece: Id) -> Response:
    """The score's file as it was brought."""
    known = studio.pieces.get(piece)
    data = studio.pieces.score(piece)
    # Always a download and never shown: what somebody brought must not run as a page of ours.
    return Response(
        data, media_type="application/octet-stream", headers=attachment(known.file_name)
    )


@router.post("/{piece}/score")
def replace(
    request: Request, studio: StudioOf, jobs: JobsOf, piece: Id, file: UploadFile
) -> Response:
    """Put a better file in the score's place; all that was noted and edited stays."""
    known = studio.pieces.get(piece)
    name = (file.filename or "").replace("\\", "/").rsplit("/", 1)[-1]
    data = file.file.read(MAX_FILE_BYTES + 1)
    problem = ""
    if not data:
        problem = "Choose a file first."
    elif len(data) > MAX_FILE_BYTES:
        problem = f"The file is larger than {MAX_FILE_BYTES // 1_000_000} MB, which no score is."
    if problem:
        return _form(request, studio, known, filled(known), problem)
    job = jobs.submit(
        "score", facts_job, (data, name), f"replace:{piece}", title=f"Reading {name}",
        keep=lambda facts: studio.pieces.replace_score(piece, data, name, facts),
    )  # fmt: skip
    return go_to(request, f"/jobs/{job.id}?then=/pieces/{piece}")


def attachment(name: str) -> dict[str, str]:
    """Headers that make a browser keep an answer as a file of this name (RFC 6266)."""
    plain = "".join(c if c.isascii() and (c.isalnum() or c in " .-_()") else "_" for c in name)
    return {
        "content-disposition": f'attachment; filename="{plain.strip() or "file"}"; '
        f"filename*=UTF-8''{quote(name, safe='')}"
    }


def _form(
    request: Request, studio: Any, piece: PieceRecord, form: NotesForm, problem: str = ""
) -> Response:
    details = form.details()
    chosen = {row.list_name: row.label for row in details.levels}
    context = {
        "piece": piece,
        "form": form,
        "problem": problem,
        "lists": studio.levels.lists(),
        "chosen": chosen,
        "editions": [*details.editions, *[Edition(title="")] * SPARE_ROWS],
        "backgrounds": [*details.backgrounds, *[Background(text="", source="")] * SPARE_ROWS],
        "studies": studio.studies.of_piece(piece.id),
        "all_tags": [tag for tag, _ in studio.library.tags()],
        "all_books": [book for book, _ in studio.library.collections()],
    }
    return page(request, "library/notes.html", context, status=422 if problem else 200)
