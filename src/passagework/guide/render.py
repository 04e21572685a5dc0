"""The page as HTML (one file, nothing loaded from elsewhere) and as PDF on A4."""

from __future__ import annotations

import json
from importlib.resources import files
from typing import Any


def render_html(page: dict[str, Any]) -> bytes:
    """`page` (of `passagework.guide.page.guide_page`) as one HTML document, UTF-8."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"guide.html.j2": _template("guide.html.j2")}),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
    )
    template = environment.get_template("guide.html.j2")
    return template.render(page=_shared(page), css=_template("guide.css")).encode()


def _shared(page: dict[str, Any]) -> dict[str, Any]:
    """`page` with its music sharing one set of characters, and ids that are unique in one document.

    The score keeps the ids of the notes; those of an excerpt carry its spot's number before them.
    """
    from passagework.engraving.together import shared_characters, without_characters

    drawings = [*page["systems"], *page["music"]]

    def own(pictures: list[dict[str, Any]], prefix: str) -> list[dict[str, Any]]:
        drawings.extend(p["svg"] for p in pictures)
        return [p | {"svg": without_characters(p["svg"], prefix)} for p in pictures]

    spots = []
    for spot in page["spots"]:
        name = f"s{spot['rank']}-"
        exercises = [
            exercise
            | {
                "steps": [
                    step | {"systems": own(step["systems"], f"{name}{at}-{number}-")}
                    for number, step in enumerate(exercise["steps"])
                ]
            }
            for at, exercise in enumerate(spot["exercises"])
        ]
        spots.append(spot | {"excerpt": own(spot["excerpt"], name), "exercises": exercises})
    return page | {
        "spots": spots,
        "systems": [without_characters(s) for s in page["systems"]],
        "music": [without_characters(s, "m-") for s in page["music"]],
        "characters": shared_characters(drawings),
    }


def render_pdf(page: dict[str, Any]) -> bytes:
    """`page` as a PDF for printing."""
    import typst

    return bytes(
        typst.compile(
            _template("guide.typ").encode(),
            format="pdf",
            sys_inputs={"page": json.dumps(page, ensure_ascii=False)},
        )
    )


def render_sheet(sheet: dict[str, Any]) -> bytes:
    """Exercises on A4, to hand over: ``title`` and ``exercises`` (see `exercise_page`)."""
    import typst

    return bytes(
        typst.compile(
            _template("exercises.typ").encode(),
            format="pdf",
            sys_inputs={"page": json.dumps(sheet, ensure_ascii=False)},
        )
    )


def _template(name: str) -> str:
    return files("passagework.guide").joinpath("templates", name).read_text(encoding="utf-8")
