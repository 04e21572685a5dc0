"""The files of a guide: engraves while the spots are found, then fills the page."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any, Literal

from passagework.engraving.draw import System, draw
from passagework.engraving.errors import EngravingError
from passagework.engraving.layout import Layout
from passagework.engraving.marks import Mark, Ring
from passagework.engraving.process import Engraver, Pending
from passagework.engraving.render import start_excerpt, start_score
from passagework.exercises.choose import exercises_for, first_exercise_for
from passagework.exercises.exercise import Exercise
from passagework.guide.exercise_page import Sound, StepEngraver, exercise_values
from passagework.guide.layers import finger_marks, music_marks, rings
from passagework.guide.page import Drills, Picture, guide_document, guide_page
from passagework.guide.preparation import Preparation
from passagework.guide.render import render_html, render_pdf
from passagework.spots.spot import Spot

SCORE = Layout(width_mm=178.0, staff_mm=6.6)
"""The whole score: the width of an A4 page between its margins."""

EXCERPT = Layout(width_mm=150.0, margin_mm=1.0, staff_mm=7.0)
"""The bars of one spot, a little larger."""

Progress = Callable[[str], None]
Shown = Literal["none", "first", "all"]


def guide_files(
    preparation: Preparation,
    progress: Progress = lambda _: None,
    *,
    exercises: Shown = "first",
    sound: Sound | None = None,
) -> dict[str, bytes]:
    """``guide.html``, ``guide.pdf`` and ``guide.json``, by name.

    `exercises` says whether the steps of the first exercise of each place are shown, of all of them,
    or none; the others are named. `sound` puts the sound of the steps shown inside the HTML.

    `progress` is told in a few words what is being done, and given "" at the end. Music that the
    engraver cannot draw is left out, and the guide says so.
    """
    page = _page(preparation, progress, exercises, sound)
    with ThreadPoolExecutor(1) as beside:
        pdf = beside.submit(render_pdf, page)
        files = {
            "guide.html": render_html(page),
            "guide.json": _json(guide_document(preparation)),
            "guide.pdf": pdf.result(),
        }
    progress("")
    return files


def guide_pdf(
    preparation: Preparation, progress: Progress = lambda _: None, *, exercises: Shown = "first"
) -> bytes:
    """The guide on paper alone; see `guide_files`."""
    return render_pdf(_page(preparation, progress, exercises, None))


def _page(
    preparation: Preparation, progress: Progress, exercises: Shown, sound: Sound | None
) -> dict[str, Any]:
    """The model of the guide, its music engraved."""
    with Engraver() as engraver, Engraver() as other:
        score = start_score(preparation.notation, SCORE, engraver)
        progress(f"reading {len(preparation.piece.bars)} bars for difficulties")
        listed = preparation.listed
        excerpts = [
            start_excerpt(
                preparation.notation, s.focus.first_bar, s.focus.last_bar, EXCERPT, engraver
            )
            for s in listed
        ]
        # The engraver draws the steps while the fingering, the harmony and the words are worked out.
        steps = StepEngraver(other, engraver)
        offers = [_offered(spot, preparation, exercises) for spot in listed]
        started = [[steps.start(e) for e in built] for built, _ in offers]
        fingers = finger_marks(preparation)
        progress("engraving the score and the places")
        troubles: list[str] = []
        systems = _drawn(score, SCORE, [*rings(listed), *fingers], troubles, shrink=False)
        music = _drawn(score, SCORE, music_marks(preparation.context), troubles, shrink=False)
        pictures = [
            _drawn(pending, EXCERPT, [Ring(spot.focus.note_ids), *fingers], troubles, shrink=True)
            for spot, pending in zip(listed, excerpts, strict=True)
        ]
        drills = [
            Drills([exercise_values(preparation, s, troubles, sound) for s in row], named)
            for row, (_, named) in zip(started, offers, strict=True)
        ]
    progress("writing the pages")
    return guide_page(
        preparation,
        [
            [Picture(s.svg, min(1.0, s.width_mm / EXCERPT.width_mm)) for s in row]
            for row in pictures
        ],
        drills,
        [s.svg for s in systems],
        [s.svg for s in music],
        troubles,
    )


def _offered(
    spot: Spot, preparation: Preparation, exercises: Shown
) -> tuple[tuple[Exercise, ...], list[str]]:
    """The exercises of `spot` to be shown, and the titles of the others."""
    if exercises == "all":
        return exercises_for(spot, preparation.study), []
    first, after = first_exercise_for(spot, preparation.study)
    titles = [technique.title for technique in after]
    if exercises == "first":
        return first, titles
    return (), [*(e.title for e in first), *titles]


def _drawn(
    pending: Pending,
    layout: Layout,
    marks: Sequence[Mark],
    troubles: list[str],
    *,
    shrink: bool,
) -> list[System]:
    try:
        return draw(pending.result(), layout, marks, shrink=shrink)
    except EngravingError as error:
        if str(error) not in troubles:
            troubles.append(str(error))
        return []


def _json(document: dict[str, Any]) -> bytes:
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode()
