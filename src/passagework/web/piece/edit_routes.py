"""The teacher's changes: every one is a row of its own, can be taken back, and is laid over at the next look."""

from __future__ import annotations

from collections.abc import Sequence
from secrets import token_hex
from typing import Annotated, Any, Final

from fastapi import APIRouter, Form, HTTPException, Request
from starlette.responses import Response

from passagework.spots.spot import Spot
from passagework.studio.records import Done
from passagework.teaching.edit_rows import fingers_of, to_row
from passagework.teaching.edits import (
    AddedSpot,
    Anchor,
    ChangedWords,
    Edit,
    FixedFinger,
    HiddenSpot,
    OwnNote,
    SkippedExercise,
    SpotName,
    Words,
    find_spot,
    name_of,
)
from passagework.web.deps import Id
from passagework.web.forms import Line, Text
from passagework.web.piece.asked import SheetOf, ShelfOf, answer
from passagework.web.piece.sheet import Sheet

router = APIRouter()

LONGEST_NAME: Final = 300
"""Letters of a name that the program gave: a spot's, a technique's."""
MOST_NOTES: Final = 400
"""Notes that one change may concern: a page of music."""

Name = Annotated[str, Form(max_length=LONGEST_NAME)]
Bar = Annotated[int, Form(ge=0, le=1_000_000)]
Hand = Annotated[str, Form(pattern="^(left|right|both)$")]
Names = Annotated[str, Form(max_length=60_000)]
"""Ids of notes with blanks between."""
GONE: Final = "This place is not on the page any more. Load it again."


@router.post("/hide")
def hide(request: Request, shelf: ShelfOf, sheet: SheetOf, spot: Name) -> Response:
    """Take a spot off the page."""
    edit = HiddenSpot(name_of(computed(sheet, spot), sheet.score.index))
    return _put(request, shelf, sheet, [edit], "Hid a place.")


@router.post("/words")
def words(
    request: Request,
    shelf: ShelfOf,
    sheet: SheetOf,
    spot: Name,
    title: Line = "",
    reason: Text = "",
    goes_wrong: Text = "",
    tries: Text = "",
    done_when: Text = "",
) -> Response:
    """Other words on a card; what is left as it was, or left empty, stays the program's."""
    own = next((e for e, _ in sheet.edits if isinstance(e, AddedSpot) and _id(e) == spot), None)
    before = None if own else computed(sheet, spot).wording
    typed = {
        "title": " ".join(title.split()),
        "reason": _clean(reason),
        "goes_wrong": _clean(goes_wrong),
        "done_when": _clean(done_when),
    }
    changed: dict[str, Any] = {
        name: text
        for name, text in typed.items()
        if text and (before is None or text != getattr(before, name))
    }
    lines = tuple(line.strip() for line in tries.splitlines() if line.strip())
    if lines and (before is None or lines != before.try_):
        changed["try_"] = lines
    if own is not None:
        edit: Edit = AddedSpot(
            own.key, own.first_bar, own.last_bar, own.hand, own.anchors, Words(**changed)
        )
    elif changed:
        edit = ChangedWords(_name(sheet, spot), Words(**changed))
    else:
        return _take_out(
            request, shelf, sheet, _words_of(sheet, spot), "The words are the program’s again."
        )
    return _put(request, shelf, sheet, [edit], "Changed the words.")


@router.post("/places")
def add_spot(
    request: Request,
    shelf: ShelfOf,
    sheet: SheetOf,
    first_bar: Bar,
    last_bar: Bar,
    hand: Hand = "both",
    notes: Names = "",
    title: Line = "",
    reason: Text = "",
    goes_wrong: Text = "",
    tries: Text = "",
    done_when: Text = "",
) -> Response:
    """Mark a place."""
    first, last = sorted((first_bar, last_bar))
    if last >= len(sheet.score.bars):
        raise HTTPException(422, "The piece has no such bar.")
    index = sheet.score.index
    ids = [i for i in notes.split()[:MOST_NOTES] if i in index.by_id]
    lines = tuple(line.strip() for line in tries.splitlines() if line.strip())
    said = {
        "title": " ".join(title.split()),
        "reason": _clean(reason),
        "goes_wrong": _clean(goes_wrong),
        "try_": lines,
        "done_when": _clean(done_when),
    }
    edit = AddedSpot(
        token_hex(6),
        first,
        last,
        hand,  # type: ignore[arg-type]
        tuple(index.by_id[i] for i in ids),
        Words(**{k: v for k, v in said.items() if v}),  # type: ignore[arg-type]
    )
    if not ids and not index.within(first, last, edit.hand):
        raise HTTPException(422, "Nothing is played by that hand in these bars.")
    return _put(request, shelf, sheet, [edit], "Marked a place.")


@router.post("/notes")
def note(
    request: Request,
    shelf: ShelfOf,
    sheet: SheetOf,
    text: Text,
    bar: Bar,
    note: Name = "",
    key: Name = "",
) -> Response:
    """Write a note at a bar, or change one; empty words take it out."""
    known = next((r.id for e, r in sheet.edits if isinstance(e, OwnNote) and e.key == key), None)
    if not _clean(text):
        if known is None:
            raise HTTPException(422, "Write a word or two first.")
        return _take_out(request, shelf, sheet, [known], "Took a note out.")
    if bar >= len(sheet.score.bars):
        raise HTTPException(422, "The piece has no such bar.")
    anchor = sheet.score.index.by_id.get(note)
    edit = OwnNote(key if known else token_hex(6), bar, _clean(text), anchor)
    return _put(request, shelf, sheet, [edit], "Wrote a note.")


@router.post("/fingers")
def fingers(request: Request, shelf: ShelfOf, sheet: SheetOf, fingers: Names) -> Response:
    """Fix fingers: ``n12:2 n13:3-1`` (a change on the key with a hyphen); ``n12:`` frees a note again."""
    wanted = [word.rpartition(":") for word in fingers.split()[:MOST_NOTES]]
    index = sheet.score.index
    if not wanted or any(i not in index.by_id for i, _, _ in wanted):
        raise HTTPException(422, "These notes are not in the piece any more. Load the page again.")
    fixed: list[Edit] = []
    for i, _, row in wanted:
        if row:
            try:
                taken = fingers_of(int(f) for f in row.split("-"))
            except ValueError:
                raise HTTPException(
                    422, "Fingers are numbered 1 (thumb) to 5 (little finger)."
                ) from None
            fixed.append(FixedFinger(_anchor(sheet, i), taken))
    if fixed:
        words = "Fixed a finger." if len(fixed) == 1 else f"Fixed {len(fixed)} fingers."
        return _put(request, shelf, sheet, fixed, words)
    ids = {i for i, _, _ in wanted}
    free = [
        r.id for e, r in sheet.edits if isinstance(e, FixedFinger) and index.find(e.anchor) in ids
    ]
    return _take_out(request, shelf, sheet, free, "The program finds this finger again.")


@router.post("/skip")
def skip(request: Request, shelf: ShelfOf, sheet: SheetOf, spot: Name, technique: Name) -> Response:
    """Leave an exercise out."""
    edit = SkippedExercise(name_of(computed(sheet, spot), sheet.score.index), technique)
    return _put(request, shelf, sheet, [edit], "Left an exercise out.")


@router.post("/edits/{edit}/delete")
def delete(request: Request, shelf: ShelfOf, sheet: SheetOf, edit: Id) -> Response:
    """Take one of the teacher's edits out: a hidden spot comes back, a note goes."""
    if all(r.id != edit for _, r in sheet.edits):
        raise HTTPException(404, "This was taken out already.")
    return _take_out(request, shelf, sheet, [edit], "Taken out.")


def computed(sheet: Sheet, spot: str) -> Spot:
    """A computed spot of the sheet, hidden or not. Raises `HTTPException` 404 where there is none."""
    found = next((s for s in sheet.places.spots if s.id == spot), None)
    if found is None:
        raise HTTPException(404, GONE)
    return found


def _put(request: Request, shelf: Any, sheet: Sheet, edits: Sequence[Edit], words: str) -> Response:
    rows = []
    for edit in edits:
        kind, key, payload = to_row(edit)
        bar, ids = _about(edit)
        rows.append((kind, " ".join(key.split())[:200], payload, bar, ids))
    student = sheet.student.id if sheet.student else None
    done = shelf.studio.edits.put_many(
        sheet.piece.id, tuple(rows), student_id=student, label=words.rstrip(".")
    )
    return answer(request, shelf, sheet, done[-1], words, "#beside")


def _take_out(
    request: Request, shelf: Any, sheet: Sheet, edits: Sequence[int], words: str
) -> Response:
    if not edits:
        return answer(request, shelf, sheet, Done(None, "", ""), "Nothing was changed.")
    done = shelf.studio.edits.delete_many(tuple(edits), label=words.rstrip("."))
    return answer(request, shelf, sheet, done, words, "#beside")


def _about(edit: Edit) -> tuple[int | None, tuple[str, ...]]:
    """First bar and notes that an edit concerns."""
    match edit:
        case OwnNote():
            return edit.bar, (edit.anchor.note_id,) if edit.anchor else ()
        case AddedSpot():
            return edit.first_bar, tuple(a.note_id for a in edit.anchors)
        case FixedFinger():
            return edit.anchor.bar, (edit.anchor.note_id,)
        case HiddenSpot() | ChangedWords() | SkippedExercise():
            return edit.spot.anchor.bar, (edit.spot.anchor.note_id,)
        case _:
            return None, ()


def _anchor(sheet: Sheet, note_id: str) -> Anchor:
    """What a finger for a note holds on to: the same as the finger that is fixed there, if one is."""
    index = sheet.score.index
    known = (e.anchor for e, _ in sheet.edits if isinstance(e, FixedFinger))
    return next((a for a in known if index.find(a) == note_id), index.by_id[note_id])


def _name(sheet: Sheet, spot: str) -> SpotName:
    """What words for a spot hold on to: the same as the words that are there, if there are any."""
    index, spots = sheet.score.index, sheet.places.spots
    known = (e.spot for e, _ in sheet.edits if isinstance(e, ChangedWords))
    found = next((n for n in known if find_spot(spots, n, index) == spot), None)
    return found or name_of(computed(sheet, spot), index)


def _words_of(sheet: Sheet, spot: str) -> list[int]:
    """Records of changed words of a spot."""
    return [r.id for e, r in sheet.edits if isinstance(e, ChangedWords) and e.spot.spot_id == spot]


def _id(edit: AddedSpot) -> str:
    return f"own-{edit.key}"


def _clean(text: str) -> str:
    return text.replace("\r\n", "\n").strip()
