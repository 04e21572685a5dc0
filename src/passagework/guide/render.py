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

    spots = [
        spot
        | {
            "excerpt": [
                picture | {"svg": without_characters(picture["svg"], f"s{spot['rank']}-")}
                for picture in spot["excerpt"]
            ]
        }
        for spot in page["spots"]
    ]
    drawings = [
        *page["systems"],
        *page["music"],
        *(p["svg"] for spot in page["spots"] for p in spot["excerpt"]),
    ]
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


def _template(name: str) -> str:
    return files("passagework.guide").joinpath("templates", name).read_text(encoding="utf-8")
