"""The report of a take as one HTML file: what to say first, how it went, all that was heard."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from passagework.guide.preparation import Preparation
from passagework.guide.take_document import spot_of, take_document
from passagework.guide.take_page import take_page
from passagework.guide.take_view import Changed, compared, picture, told
from passagework.listening.listen import Listened


@dataclass(frozen=True)
class Cure:
    """The place of the score at which a finding happened, and the exercise that a teacher would try first."""

    place: str
    exercise: str
    why: str
    steps: tuple[str, ...]


def take_report(
    preparation: Preparation, listened: Listened, before: Listened | None = None
) -> bytes:
    """The report as one HTML document, UTF-8. `before` is an earlier take of the piece, to compare with."""
    import jinja2
    from markupsafe import Markup

    from passagework.engraving.together import characters

    result = _result(preparation, listened)
    rows, page = told(result), result["page"]
    music = page["music"]
    first = [
        (
            rows[at],
            [(Markup(svg), 5 * width) for svg, width in systems],
            _cure(preparation, listened, at),
        )
        for at, systems in zip(page["first"], music["rows"], strict=False)
    ]
    then: list[Changed] = []
    both = 0
    if before is not None and before.recognised and listened.recognised:
        then, both = compared(result, _result(preparation, before), page["titles"])
    environment = jinja2.Environment(
        loader=jinja2.DictLoader({"take.html.j2": _template("take.html.j2")}),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
    )
    return (
        environment.get_template("take.html.j2")
        .render(
            title=preparation.title,
            student=preparation.student,
            recognised=listened.recognised,
            fit=round(100 * listened.alignment.fit),
            warnings=listened.take.warnings,
            recording=listened.take.source == "recording",
            trouble=music["trouble"],
            characters=Markup(characters(music["outlines"])) if music["outlines"] else "",
            first=first,
            picture=picture(result),
            tempo=page["tempo"],
            by_bar=sorted(rows, key=lambda r: (r.first_bar, -r.weight)),
            compared=then,
            both=both,
            before=before is not None,
            css=Markup(_template("guide.css") + _template("take.css")),
        )
        .encode()
    )


def _result(preparation: Preparation, listened: Listened) -> dict[str, Any]:
    return {
        "take": take_document(listened, preparation.spots),
        "page": take_page(preparation, listened),
    }


def _cure(preparation: Preparation, listened: Listened, at: int) -> Cure | None:
    """The spot of a finding with its first exercise; None where no spot stands there."""
    from passagework.exercises.choose import first_exercise_for

    spot = spot_of(listened.findings[at], preparation.spots)
    if spot is None:
        return None
    built, _ = first_exercise_for(spot, preparation.study)
    if not built:
        return Cure(spot.wording.title, "", "", ())
    exercise = built[0]
    return Cure(
        spot.wording.title,
        exercise.title,
        exercise.why,
        tuple(f"{step.title}: {step.instruction}" for step in exercise.steps),
    )


def _template(name: str) -> str:
    return files("passagework.guide").joinpath("templates", name).read_text(encoding="utf-8")
