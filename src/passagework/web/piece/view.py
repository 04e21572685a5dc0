"""A sheet as plain values for the templates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from markupsafe import Markup

from passagework.guide.page import CAUTIONS, evidence_rows
from passagework.guide.strip import StripGrid
from passagework.spots.spot import Spot
from passagework.spots.table import all_kinds
from passagework.studio.records import StudentRecord
from passagework.teaching.edits import OWN_KIND, AddedSpot, Edit, OwnNote
from passagework.web.piece.drawing import shared_signs
from passagework.web.piece.layers import LAYERS
from passagework.web.piece.sheet import Sheet

FIRST_SYSTEMS: Final = 8
"""Systems that the page brings with it; the others are fetched when it stands, so that it opens as fast for a
long piece as for a short one."""

HARD_WORDS: Final = (
    (0.75, "very hard for the level of the piece: several weeks, or a change of the text"),
    (0.5, "hard for the level of the piece: to be practised on purpose"),
    (0.3, "a little out of the ordinary for the level of the piece"),
    (0.0, "easy; worth a look"),
)
"""What a severity from that value on means (`passagework.spots.spot`)."""


def slips(sheet: Sheet) -> dict[str, Any]:
    """All that an edit can change beside the music: spots, notes, what is hidden, the strip's numbers."""
    shown = sheet.shown
    listed = [spot_values(sheet, s) for s in shown.spots if s.rank]
    others = sorted((s for s in shown.spots if not s.rank), key=lambda s: (s.first_bar, s.id))
    return {
        "piece": sheet.piece,
        "student": sheet.student,
        "listed": listed,
        "others": [heading(sheet, s) for s in others],
        "hidden": [
            {
                "edit": sheet.record(edit).id,
                "title": spot.wording.title,
                "where": _where(sheet, spot),
            }
            for spot, edit in shown.hidden
        ],
        "notes": [_note(sheet, note, head) for note, head in shown.notes],
        "unplaced": [_unplaced(sheet, edit) for edit in shown.unplaced],
        "numbers": numbers(sheet),
        "fingers_fixed": len(shown.fingers),
        "scope": scope(sheet.student),
    }


def scope(student: StudentRecord | None) -> str:
    """For whom a change holds, in words."""
    return f"for {student.name}" if student else "for every student"


def later_systems(sheet: Sheet) -> dict[str, str]:
    """Drawings that the page does not bring with it, by the system's number."""
    return {str(d.at): d.svg for d in sheet.drawings[FIRST_SYSTEMS:]}


def page_values(
    sheet: Sheet, students: Sequence[StudentRecord], *, whole: bool = False
) -> dict[str, Any]:
    """Everything for the whole page; all the music at once where `whole`."""
    score, places = sheet.score.document, sheet.places.document
    return slips(sheet) | {
        "students": students,
        "sentences": places["sentences"],
        "facts": places["facts"],
        "reach": places["reach"],
        "strips": [(grid, Markup(svg)) for grid, svg in sheet.places.strips],
        "legend": places["legend"],
        "bars": len(sheet.score.bars),
        "layers": LAYERS,
        "signs": Markup(shared_signs(sheet.score)),
        "systems": [
            {
                "at": d.at,
                "print": d.print_,
                "svg": Markup(d.svg if whole or d.at < FIRST_SYSTEMS else emptied(d.svg)),
                "later": not whole and d.at >= FIRST_SYSTEMS,
                "first": d.first_bar,
                "last": d.last_bar,
                "name": sheet.score.names(d.first_bar, d.last_bar),
                "width": d.width,
                "height": d.height,
            }
            for d in sheet.drawings
        ],
        "rows": score["rows"],
        "learning": score["learning"],
        "warnings": score["warnings"],
        "beyond": places["beyond"],
        "edition": sheet.fingers.document["edition"],
        "finger_warnings": sheet.fingers.document["warnings"],
        "cautions": CAUTIONS,
        "refingering": sheet.refingering,
        "measured": sheet.student is None or sheet.student.hands is not None,
    }


def emptied(svg: str) -> str:
    """The frame of a drawing, which keeps its place."""
    return svg[: svg.index(">") + 1] + "</svg>"


def heading(sheet: Sheet, spot: Spot) -> dict[str, Any]:
    """What is said of a spot before it is opened."""
    return {
        "id": spot.id,
        "title": spot.wording.title,
        "where": _where(sheet, spot),
        "pen": sheet.shown.changed.get(spot.id, frozenset()),
    }


def spot_values(sheet: Sheet, spot: Spot) -> dict[str, Any]:
    """A spot for its slip."""
    words = spot.wording
    changed = sheet.shown.changed.get(spot.id, frozenset())
    own = spot.kind == OWN_KIND
    sure = sheet.places.document["sure"].get(spot.id)
    return {
        "id": spot.id,
        "rank": spot.rank,
        "kind": _KINDS.get(spot.kind, "your own"),
        "own": own,
        "title": words.title,
        "where": _where(sheet, spot),
        "reason": words.reason,
        "goes_wrong": words.goes_wrong,
        "tries": list(words.try_),
        "done_when": words.done_when,
        "pen": changed,
        "hard": "" if own else next(w for low, w in HARD_WORDS if spot.severity >= low),
        "sure": sure[1] if sure else "",
        "evidence": evidence_rows(words.evidence),
        "first_bar": spot.focus.first_bar,
        "last_bar": spot.focus.last_bar,
        "hand": spot.hand,
        "bars": sheet.score.names(spot.focus.first_bar, spot.focus.last_bar),
        "system": sheet.score.home.get(spot.focus.note_ids[0], 0),
        "notes": " ".join(spot.focus.note_ids),
        "edit": _own_edit(sheet, spot),
    }


def _own_edit(sheet: Sheet, spot: Spot) -> int | None:
    """The record of a spot that the teacher added."""
    if spot.kind != OWN_KIND:
        return None
    key = spot.id.removeprefix(f"{OWN_KIND}-")
    found = (r.id for e, r in sheet.edits if isinstance(e, AddedSpot) and e.key == key)
    return next(found, None)


def _where(sheet: Sheet, spot: Spot) -> str:
    known = sheet.places.document["where"].get(spot.id)
    if known:
        return str(known)
    hand = "both hands" if spot.hand == "both" else f"{spot.hand} hand"
    return f"{sheet.score.names(spot.first_bar, spot.last_bar)} · {hand}"


def _note(sheet: Sheet, note: OwnNote, head: str | None) -> dict[str, Any]:
    record = sheet.record(note)
    row = sheet.score.rows.get(head) if head else None
    bar = row.anchor.bar if row else note.bar
    return {
        "edit": record.id,
        "key": note.key,
        "text": note.text,
        "bar": bar,
        "where": f"bar {sheet.score.label(bar)}" + (f", {row.name}" if row else ""),
        "note": head or "",
        "system": sheet.score.home.get(head or sheet.score.first_in_bar.get(bar, ""), 0),
    }


def _unplaced(sheet: Sheet, edit: Edit) -> dict[str, Any]:
    record = sheet.record(edit)
    return {"edit": record.id, "words": UNPLACED.get(record.kind, "an edit of another version")}


UNPLACED: Final = {
    "own-note": "a note of yours",
    "hidden-spot": "a place that you hid",
    "changed-words": "your words for a place",
    "added-spot": "a place that you marked",
    "fixed-finger": "a finger that you fixed",
    "skipped-exercise": "an exercise that you left out",
}

_KINDS = {kind.name: kind.title for kind in all_kinds()}


def numbers(sheet: Sheet) -> list[Markup]:
    """The spots' numbers, to be laid over each of the strips."""
    listed = [s for s in sheet.shown.spots if s.rank]
    return [_numbers(grid, listed) for grid, _ in sheet.places.strips]


def _numbers(grid: StripGrid, listed: Sequence[Spot]) -> Markup:
    """Numbers in the rows of their kinds; those of the teacher's own places on the ruler."""
    inside = "".join(
        grid.number(s.kind, s.focus.first_bar, s.rank)
        if s.kind in grid.kinds
        else grid.ruler_number(s.focus.first_bar, s.rank)
        for s in listed
    )
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {grid.width:g} {grid.height:g}" '
        f'aria-hidden="true">{inside}</svg>'
    )
