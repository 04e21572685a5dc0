"""The week's assignment as one printed page: HTML (nothing loaded from elsewhere) and PDF, on A4 or letter paper.

It is always one page: `passagework.guide.assignment_fit` leaves out from the least important what does not fit, and says that it
did.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from passagework.engraving.draw import System
from passagework.guide.assignment_fit import (
    HTML_FACE,
    PAPERS,
    PDF_FACE,
    Face,
    PaperName,
    also_words,
    fitted,
)
from passagework.teaching.assignment import Assignment
from passagework.teaching.assignment_lines import Line

LONGEST_TITLE, LONGEST_SENTENCE, LONGEST_NOTE = 120, 260, 600
"""Characters of a heading, a sentence and the teacher's note, beyond which they are cut: what is typed in has no end."""


def assignment_html(
    assignment: Assignment,
    pictures: Mapping[int, System] | None = None,
    paper: PaperName = "a4",
) -> bytes:
    """`assignment` as one HTML document, UTF-8. `pictures` are engraved bars by the number of their line."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"assignment.html.j2": _template("assignment.html.j2")}),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    page = assignment_values(assignment, pictures, paper, HTML_FACE)
    template = environment.get_template("assignment.html.j2")
    return template.render(page=_own_ids(page), css=_template("assignment.css")).encode()


def assignment_pdf(
    assignment: Assignment,
    pictures: Mapping[int, System] | None = None,
    paper: PaperName = "a4",
) -> bytes:
    """`assignment` as a PDF of one page."""
    import typst

    page = assignment_values(assignment, pictures, paper)
    return bytes(
        typst.compile(
            _template("assignment.typ").encode(),
            format="pdf",
            sys_inputs={"page": json.dumps(page, ensure_ascii=False)},
        )
    )


def assignment_values(
    assignment: Assignment,
    pictures: Mapping[int, System] | None = None,
    paper: PaperName = "a4",
    face: Face = PDF_FACE,
) -> dict[str, Any]:
    """Plain values for the templates, as much of them as one page of `paper` holds."""
    shown = pictures or {}
    values = {
        "title": clipped(assignment.title, LONGEST_TITLE),
        "student": clipped(assignment.student, LONGEST_TITLE // 3),
        "subtitle": assignment.subtitle,
        "days": [{"label": d.label, "text": d.text} for d in assignment.days],
        "lines": [_line(line, shown.get(line.number)) for line in assignment.lines],
        "also": [],
        "more": 0,
        "pleasure": assignment.pleasure,
        "note": clipped(assignment.teacher_note, LONGEST_NOTE),
        "family": [clipped(words, LONGEST_SENTENCE) for words in assignment.family],
        "caution": assignment.caution,
        "paper": PAPERS[paper].typst_name,
        "css_paper": PAPERS[paper].css_name,
    }
    page = fitted(values, PAPERS[paper], face)
    return page | {"also_words": also_words(page)}


def _line(line: Line, picture: System | None) -> dict[str, Any]:
    return {
        "number": line.number,
        "title": clipped(line.title, LONGEST_TITLE),
        "piece": clipped(line.piece, LONGEST_TITLE // 2),
        "role": line.role,
        "when": line.when,
        "do": clipped(line.do, LONGEST_SENTENCE),
        "steps": [
            {
                "title": clipped(step.title, LONGEST_TITLE),
                "instruction": clipped(step.instruction, LONGEST_SENTENCE),
                "tempo": clipped(step.tempo, LONGEST_TITLE),
            }
            for step in line.steps
        ],
        "done_when": clipped(line.done_when, LONGEST_SENTENCE),
        "boxes": min(line.boxes, 7),
        "picture": None
        if picture is None
        else {
            "svg": picture.svg,
            "width_mm": round(picture.width_mm, 2),
            "height_mm": round(picture.height_mm, 2),
        },
    }


def clipped(text: str, most: int) -> str:
    """`text` on one line, cut at a word where it is longer than `most` characters."""
    line = " ".join(text.split())
    if len(line) <= most:
        return line
    cut = line[: most - 1]
    return (cut.rsplit(" ", 1)[0] if " " in cut[most // 2 :] else cut).rstrip(" ,;:") + "…"


def _own_ids(page: dict[str, Any]) -> dict[str, Any]:
    """`page` with pictures that share one set of characters and whose ids are unique in the document."""
    from passagework.engraving.together import shared_characters, without_characters

    drawings = [line["picture"]["svg"] for line in page["lines"] if line["picture"]]
    lines = [
        line
        | {
            "picture": line["picture"]
            and line["picture"]
            | {"svg": without_characters(line["picture"]["svg"], f"l{line['number']}-")}
        }
        for line in page["lines"]
    ]
    return page | {"lines": lines, "characters": shared_characters(drawings) if drawings else ""}


def _template(name: str) -> str:
    return files("passagework.guide").joinpath("templates", name).read_text(encoding="utf-8")
