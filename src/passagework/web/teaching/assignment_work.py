"""The music of a week's assignment, engraved by a worker: the step with which each of its exercises begins."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from passagework.web.jobs import Report

if TYPE_CHECKING:
    from passagework.engraving.draw import System
    from passagework.engraving.process import Engraver
    from passagework.exercises.exercise import Step
    from passagework.guide.preparation import Preparation
    from passagework.hands.hand import Hands
    from passagework.teaching.assignment_lines import Line
    from passagework.web.teaching.plan_work import PieceAsked

MOST_PICTURES: Final = 5
"""More than a page has room for beside the words."""
WIDTH_MM: Final = 110.0
STAFF_MM: Final = 5.6
"""The width of the text of the page, and a staff that can be read on a music desk."""


@dataclass(frozen=True)
class PicturesAsked:
    """What is to be engraved."""

    lines: tuple[Line, ...]
    pieces: tuple[PieceAsked, ...]
    hands: Hands


def pictures_job(report: Report, asked: PicturesAsked) -> bytes:
    """The pictures by the number of their line, as JSON."""
    from passagework.engraving.process import Engraver

    pieces = {piece.id: piece for piece in asked.pieces}
    lines = [row for row in asked.lines if row.technique and row.piece_id in pieces][:MOST_PICTURES]
    found: dict[int, System] = {}
    with Engraver() as engraver:
        for at, line in enumerate(lines):
            report(at / len(lines), f"Engraving {line.title}")
            system = _picture(line, pieces[line.piece_id], asked.hands, engraver)
            if system is not None:
                found[line.number] = system
    return json.dumps(
        {n: {"svg": s.svg, "width": s.width_mm, "height": s.height_mm} for n, s in found.items()}
    ).encode()


def pictures_of(data: bytes | None) -> Mapping[int, System]:
    """The pictures as they were kept; none where there are none."""
    from passagework.engraving.draw import System

    rows: dict[str, Any] = json.loads(data) if data else {}
    return {
        int(number): System(row["svg"], row["width"], row["height"], (), frozenset())
        for number, row in rows.items()
    }


def _picture(line: Line, piece: PieceAsked, hands: Hands, engraver: Engraver) -> System | None:
    from passagework.engraving.draw import draw
    from passagework.engraving.errors import EngravingError
    from passagework.engraving.layout import Layout
    from passagework.engraving.marks import Grey
    from passagework.web.piece.hold import prepared

    step = _step(line, piece, prepared(piece.data, piece.file_name, hands))
    if step is None:
        return None
    layout = Layout(width_mm=WIDTH_MM, margin_mm=1.0, staff_mm=STAFF_MM)
    try:
        engraving = engraver.start(step.notation, layout, natural=True).result()
    except EngravingError:
        return None  # the words say it too
    marks = [Grey(tuple(sorted(step.grey)))] if step.grey else []
    return draw(engraving, layout, marks, shrink=True)[0]


def _step(line: Line, piece: PieceAsked, preparation: Preparation) -> Step | None:
    """The first step of a line's exercise, built again as it was planned."""
    from passagework.exercises.choose import exercise_by
    from passagework.exercises.exercise import DoesNotFitError
    from passagework.exercises.passage import passage_of
    from passagework.teaching.edit_rows import from_rows
    from passagework.teaching.edits import index_of, lay_over

    shown = lay_over(preparation.spots, from_rows(piece.edits), index_of(preparation.piece))
    spot = next((s for s in shown.spots if s.id == line.spot_id), None)
    if spot is None:
        return None
    passage = passage_of(spot, preparation.context)
    try:
        steps = exercise_by(line.technique, passage, preparation.study).steps
    except (KeyError, DoesNotFitError):
        return None  # planned by another version of the program
    return steps[line.first_step] if line.first_step < len(steps) else None
