"""Room on one page: how high an assignment is when it is set, and what is left out, in order, until it fits.

The height is estimated from counts of characters, on the safe side, and the same for HTML and PDF, so that both say the same.
What is left out is the least that matters: the long form of later exercises, small pictures, then whole lines from the
last on, which are still named in a sentence ("also"), then that sentence. The first line, the days and the caution always stay.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Iterator
from copy import deepcopy
from dataclasses import dataclass
from math import ceil
from typing import Any, Literal

PaperName = Literal["a4", "letter"]


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet; millimetres."""

    width: float
    height: float
    typst_name: str
    css_name: str


PAPERS: dict[PaperName, Paper] = {
    "a4": Paper(210.0, 297.0, "a4", "A4"),
    "letter": Paper(215.9, 279.4, "us-letter", "letter"),
}

MARGIN_X, MARGIN_Y = 16.0, 13.0
"""Margins of the templates, in mm."""

INDENT = 12.0
"""Room for the number before a line, in mm."""


@dataclass(frozen=True, slots=True)
class Face:
    """How a page is set: running text's height of a line, and the mean width of its characters, in mm, on the safe side."""

    text: float
    character: float


PDF_FACE = Face(4.85, 1.74)
"""11.5 pt of the serif that the PDF brings along, measured on pages of the templates."""

HTML_FACE = Face(5.0, 1.98)
"""11 pt of whatever serif the reader's machine has; the wide ones have characters of half their size."""

TITLE_TIMES, HEAD_TIMES = 1.95, 1.22
"""Size of the title and of the headings against running text."""

DAYS_MM, GAP_MM, BOX_MM = 18.5, 4.2, 5.4
"""Height of the row of days; space around a rule; width of a box to tick with its space."""

PICTURE_GAP, STEP_INDENT = 3.5, 5.0

KEPT_LONG = 3
"""Lines whose steps keep their sentences longest, and lines that stay lines longest."""

SHORT_NOTE = 200
"""Characters of the teacher's note where nothing else is left to leave out."""

ALSO_LEAST = 3
"""Things that the sentence of the rest names at least, while there is room."""

SAFETY = 0.97
"""Share of the page's height that is filled: fonts differ."""

Values = dict[str, Any]


def fitted(values: Values, paper: Paper, face: Face) -> Values:
    """`values` with as much left out as is needed to fit `paper`; itself unchanged."""
    room = (paper.height - 2 * MARGIN_Y) * SAFETY
    ways = list(_ways(values))
    page, taken = deepcopy(values), 0
    while taken < len(ways) and height(page, paper, face) > room:
        ways[taken].do(page)
        taken += 1
    # What was left out early may find room after all, when something larger has gone.
    chosen = ways[:taken]
    for way in reversed(ways[: max(taken - 1, 0)]):
        if way.small:
            tried = _without(values, [w for w in chosen if w is not way])
            if height(tried, paper, face) <= room:
                chosen, page = [w for w in chosen if w is not way], tried
    return page


def _without(values: Values, ways: Iterable[Way]) -> Values:
    page = deepcopy(values)
    for way in ways:
        way.do(page)
    return page


def height(page: Values, paper: Paper, face: Face) -> float:
    """Height of `page` when it is set, in mm, on the safe side."""
    width = paper.width - 2 * MARGIN_X

    def rows(text: str, size: float = 1.0, less: float = 0.0) -> float:
        return face.text * size * _rows(text, (width - less) / (size * face.character))

    total = rows(f"{page['title']}  {page['student']}", TITLE_TIMES)
    total += rows(page["subtitle"]) + DAYS_MM + GAP_MM
    total += sum(_line_height(line, rows) for line in page["lines"])
    total += GAP_MM + rows(also_words(page)) + rows(f"{page['pleasure']} {page['note']}")
    return (
        total + GAP_MM + rows("For the family: " + " ".join(page["family"])) + rows(page["caution"])
    )


def _line_height(line: Values, rows: Callable[..., float]) -> float:
    total = GAP_MM + rows(line["title"], HEAD_TIMES, less=INDENT)
    total += rows(f"{line['when']} · {line['piece']}", less=INDENT)
    total += rows(line["do"], less=INDENT)
    for step in line["steps"]:
        words = f"1. {step['title']} {step['instruction']} {step['tempo']}"
        total += rows(words, less=INDENT + STEP_INDENT)
    if line["picture"]:
        total += line["picture"]["height_mm"] + PICTURE_GAP
    beside = INDENT + BOX_MM * line["boxes"] + 4.0
    return total + rows("done when " + line["done_when"], less=beside)


def also_words(page: Values) -> str:
    """The sentence that names what has no line of its own; empty for nothing."""
    named = "; ".join(page["also"])
    more = page["more"]
    if not named:
        return "The rest of the week is in the plan." if more else ""
    rest = f"; and {more} more, in the plan" if more else ""
    return f"Also: {named}{rest}."


def _rows(text: str, per_row: float) -> int:
    """Rows that `text` takes with so many characters in each; 0 for none."""
    if not text.strip():
        return 0
    wide = sum(2 if unicodedata.east_asian_width(c) in "WF" else 1 for c in text)
    wide += text.count("W") + text.count("M") + text.count("@")
    longest = max(len(word) for word in text.split())
    if wide <= per_row:
        return 1
    # Every row but the last may end early by a word.
    return ceil(wide / max(per_row - min(longest, 12) / 2, 10.0))


@dataclass(frozen=True, eq=False)
class Way:
    """One thing to leave out of a page."""

    do: Callable[[Values], None]
    small: bool = False
    """Whether a line stays a line without it."""


def _ways(values: Values) -> Iterator[Way]:
    """What can be left out, the least important first. Each does nothing where there is nothing left to do."""
    numbers = [line["number"] for line in values["lines"]]
    roles = {line["number"]: line["role"] for line in values["lines"]}
    for number in reversed(numbers[KEPT_LONG:]):
        yield Way(_of_line(number, _short_steps), True)
    for number in reversed(numbers[1:]):
        yield Way(_of_line(number, _no_picture), True)
    for number in reversed(numbers[KEPT_LONG:]):
        if roles[number] in ("keep", "review"):
            yield Way(_to_the_rest)
    for _ in numbers[KEPT_LONG + 1 :]:
        yield Way(lambda page: _to_the_rest(page, least=KEPT_LONG + 1))
    for _ in numbers[ALSO_LEAST:]:
        yield Way(lambda page: _unnamed(page, least=ALSO_LEAST))
    for number in reversed(numbers):
        yield Way(_of_line(number, _short_steps), True)
    for number in reversed(numbers):
        yield Way(_of_line(number, _no_picture), True)
    yield Way(lambda page: page.update(family=page["family"][:1]), True)
    for _ in numbers[1:]:
        yield Way(_to_the_rest)
        yield Way(lambda page: _unnamed(page, least=ALSO_LEAST))
    for _ in numbers:
        yield Way(_unnamed)
    yield Way(lambda page: page.update(note=page["note"][:SHORT_NOTE]), True)


def _of_line(number: int, do: Callable[[Values], None]) -> Callable[[Values], None]:
    """`do` to the line of that number, where the page still has it."""

    def on(page: Values) -> None:
        for line in page["lines"]:
            if line["number"] == number:
                do(line)

    return on


def _no_picture(line: Values) -> None:
    line["picture"] = None


def _short_steps(line: Values) -> None:
    """The steps by their titles only, as one sentence."""
    if line["steps"]:
        titles = [step["title"] for step in line["steps"]]
        small = [t[:1].lower() + t[1:] if t[1:2].islower() else t for t in titles[1:]]
        line["do"] = f"{line['do']} In steps: {'; '.join([titles[0][:1].lower() + titles[0][1:], *small])}.".strip()  # fmt: skip
        line["steps"] = []


def _to_the_rest(page: Values, least: int = 1) -> None:
    """The last line becomes a few words in the sentence of the rest, while more than `least` are left."""
    if len(page["lines"]) <= least:
        return
    line = page["lines"].pop()
    piece = f" ({line['piece']})" if line["piece"] else ""
    title = line["title"]
    small = title[:1].lower() + title[1:] if title[1:2].islower() else title
    page["also"].insert(0, f"{small}{piece}, {line['when']}")


def _unnamed(page: Values, least: int = 0) -> None:
    """The last of the sentence of the rest is only counted, while more than `least` are named."""
    if len(page["also"]) > least:
        page["also"].pop()
        page["more"] += 1
