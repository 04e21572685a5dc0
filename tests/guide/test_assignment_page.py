"""The printed assignment: one page, whatever the week holds, with the most important left on it."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from importlib.resources import files

import pypdfium2
import pytest
import typst

from passagework.guide.assignment_fit import PAPERS, PDF_FACE, PaperName, height
from passagework.guide.assignment_page import (
    assignment_html,
    assignment_pdf,
    assignment_values,
    clipped,
)
from tests.guide.assignments import any_assignment, any_pictures

SIZES = {"a4": (595, 842), "letter": (612, 792)}
BOTH: tuple[PaperName, ...] = ("a4", "letter")


@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("paper", BOTH)
def test_always_one_page_without_being_made_smaller(seed: int, paper: PaperName) -> None:
    """Whatever the week holds, what is left fits by itself: the template never has to shrink it."""
    pictures = any_pictures(seed) if seed % 3 else {}
    week = any_assignment(seed)
    with pypdfium2.PdfDocument(io.BytesIO(assignment_pdf(week, pictures, paper))) as document:
        assert len(document) == 1
        size = document[0].get_size()
    assert size == pytest.approx(SIZES[paper], abs=1)
    values = assignment_values(week, pictures, paper)
    fit = json.loads(
        typst.query(
            files("passagework.guide").joinpath("templates", "assignment.typ").read_bytes(),
            "<fit>", field="value", one=True, sys_inputs={"page": json.dumps(values)},
        )
    )  # fmt: skip
    assert fit["high"] <= fit["room"]
    assert height(values, PAPERS[paper], PDF_FACE) >= fit["high"] * 0.97


@pytest.mark.parametrize("seed", range(40))
def test_what_matters_most_stays(seed: int) -> None:
    week = any_assignment(seed)
    values = assignment_values(week, any_pictures(seed), "letter")
    assert [line["number"] for line in values["lines"]] == list(range(1, len(values["lines"]) + 1))
    assert values["lines"]
    assert values["caution"] == week.caution
    assert len(values["days"]) == len(week.days)
    named = len(values["lines"]) + len(values["also"]) + values["more"]
    assert named == len(week.lines)


def test_a_short_week_keeps_all_that_it_says() -> None:
    week = replace(any_assignment(0), lines=any_assignment(0).lines[:1], teacher_note="Sing it.")
    week = replace(week, title="This week: Song")
    values = assignment_values(week, any_pictures(1))
    assert (values["also"], values["more"]) == ([], 0)
    assert len(values["lines"][0]["steps"]) == len(week.lines[0].steps)
    assert values["note"] == "Sing it."
    html = assignment_html(week, any_pictures(1)).decode()
    assert "Sing it." in html
    assert html.count("<i></i>") == week.lines[0].boxes
    assert "http" not in html.replace("http://www.w3.org", "")
    assert "<script" not in html


def test_what_is_typed_in_is_text_and_not_markup() -> None:
    week = replace(any_assignment(0), teacher_note="<b>&#eval(1)</b>", student='"><script>')
    assert "<script>" not in assignment_html(week).decode()
    with pypdfium2.PdfDocument(io.BytesIO(assignment_pdf(week))) as document:
        assert "#eval(1)" in document[0].get_textpage().get_text_bounded()


def test_the_same_assignment_gives_the_same_bytes() -> None:
    assert assignment_pdf(any_assignment(3)) == assignment_pdf(any_assignment(3))


@pytest.mark.parametrize(
    ("text", "most", "cut"),
    [("a short one", 20, "a short one"), ("one two three four", 12, "one two…"), ("x" * 30, 10, "x" * 9 + "…")],
)  # fmt: skip
def test_clipped(text: str, most: int, cut: str) -> None:
    assert clipped(text, most) == cut
