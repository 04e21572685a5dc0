"""The guide as plain values: one model that the HTML, the PDF and the JSON are all made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from passagework.guide.glance import Glance, glance
from passagework.guide.hands_rows import beyond_rows, edition_rows
from passagework.guide.music import (
    Row,
    chord_rows,
    form_rows,
    key_rows,
    learning_rows,
    learning_sentence,
    main_key,
    sections,
    tune_rows,
    word_rows,
)
from passagework.guide.preparation import Preparation
from passagework.guide.reading_document import spot_document
from passagework.guide.strip import strip_rows, strip_svg
from passagework.spots.spot import Evidence, Spot
from passagework.spots.table import all_kinds

FORMAT = "passagework.guide/1"

LEGEND = (
    "Each bar from left to right; a row for each kind of difficulty that the piece has. Denser strokes "
    "are harder: two or three ask for practice on purpose, five for weeks. The numbers are those of "
    "the places below."
)

CAUTIONS = (
    "Pain, numbness or tingling: stop, and see a doctor or a physiotherapist who treats musicians. "
    "No stretch beyond comfort, above all for hands that still grow.",
    "What stands here was computed from the notes on the page. The teacher who knows the student has "
    "the last word. Scores have owners: use those you may use, and follow the rules where you are.",
)

MOST_OTHERS = 24
"""Places named in one line each after the short list."""


@dataclass(frozen=True)
class Picture:
    """A system of music as SVG, and the share of the column that it should fill, 0 to 1."""

    svg: str
    share: float = 1.0


@dataclass(frozen=True)
class Drills:
    """The exercises of one place: those whose steps are shown, as plain values, and the others."""

    shown: list[dict[str, Any]]
    named: list[str]
    """Titles of the others."""


def _drills(drills: Drills) -> dict[str, Any]:
    return {
        "exercises": drills.shown,
        "more_exercises": [title[:1].lower() + title[1:] for title in drills.named],
    }


def guide_page(
    preparation: Preparation,
    excerpts: Sequence[Sequence[Picture]],
    drills: Sequence[Drills],
    systems: Sequence[str],
    music: Sequence[str],
    troubles: Sequence[str] = (),
) -> dict[str, Any]:
    """Plain values for the templates; `excerpts` and `drills` belong to the listed spots, in their order.

    `systems` and `music` are the score with the rings, and with tune and harmony. `troubles` says what could not be drawn.
    """
    piece = preparation.piece
    context = preparation.context
    seen: Glance = glance(context, preparation.spots, main_key(context))
    words = word_rows(context, preparation.terms)
    rows = strip_rows(piece, all_kinds(), preparation.candidates)
    parts = [("places", "What to practise")]
    others = _others(preparation)
    if others:
        parts.append(("also", "Also"))
    parts += [("music", "The music"), ("score", "The score")]
    if piece.warnings or troubles:
        parts.append(("reading", "How the file was read"))
    return {
        "title": preparation.title,
        "subtitle": _subtitle(preparation),
        "whose": f"a reach of {preparation.hand.reach_cm:g} cm",
        "parts": [{"id": name, "name": words} for name, words in parts],
        "sentences": list(seen.sentences),
        "facts": [{"name": f.name, "text": f.text} for f in seen.facts],
        "strip": strip_svg(piece, rows, preparation.spots, sections(context)),
        "legend": LEGEND,
        "spots": [
            _spot(preparation, spot, pictures) | _drills(row)
            for spot, pictures, row in zip(preparation.listed, excerpts, drills, strict=True)
        ],
        "others": others,
        "keys": _rows(key_rows(context)),
        "form": _rows(form_rows(context)),
        "learning": learning_sentence(context),
        "learn_once": _rows(learning_rows(context)),
        "tune": _rows(tune_rows(context)),
        "words": _rows(words),
        "beyond": _rows(beyond_rows(preparation)),
        "edition": _rows(edition_rows(preparation)),
        "chords": _rows(chord_rows(context)),
        "music": list(music),
        "systems": list(systems),
        "warnings": [*piece.warnings, *(_trouble(t) for t in troubles)],
        "cautions": list(CAUTIONS),
    }


def guide_document(preparation: Preparation) -> dict[str, Any]:
    """The guide as JSON, ``passagework.guide/1``: all that the pages say, without the pictures."""
    piece = preparation.piece
    context = preparation.context
    seen = glance(context, preparation.spots, main_key(context))
    return {
        "format": FORMAT,
        "title": preparation.title,
        "composer": piece.composer,
        "student": preparation.student,
        "reach_cm": preparation.hand.reach_cm,
        "sentences": list(seen.sentences),
        "facts": {f.name: f.text for f in seen.facts},
        "strip": [
            {
                "kind": r.kind.name,
                "title": r.kind.title,
                "severities": [round(s, 3) for s in r.severities],
            }
            for r in strip_rows(piece, all_kinds(), preparation.candidates)
        ],
        "spots": [
            spot_document(s)
            | {
                "goes_wrong": s.wording.goes_wrong,
                "try": list(s.wording.try_),
                "done_when": s.wording.done_when,
            }
            for s in preparation.spots
        ],
        "keys": _rows(key_rows(context)),
        "form": _rows(form_rows(context)),
        "learn_once": _rows(learning_rows(context)),
        "tune": _rows(tune_rows(context)),
        "chords_to_stop_at": _rows(chord_rows(context)),
        "beyond_reach": _rows(beyond_rows(preparation)),
        "edition": _rows(edition_rows(preparation)),
        "words": _rows(word_rows(context, preparation.terms)),
        "warnings": list(piece.warnings),
    }


def _rows(rows: Sequence[Row]) -> list[dict[str, str]]:
    return [{"where": r.where, "what": r.what, "more": r.more} for r in rows]


def _trouble(text: str) -> str:
    return f"Some of the music is not shown: {text}."


def _subtitle(preparation: Preparation) -> str:
    parts = [preparation.piece.composer] if preparation.piece.composer else []
    who = f"for {preparation.student}, " if preparation.student else "for "
    parts.append(f"{who}a reach of {preparation.hand.reach_cm:g} cm")
    return " · ".join(parts)


def _spot(preparation: Preparation, spot: Spot, pictures: Sequence[Picture]) -> dict[str, Any]:
    words = spot.wording
    return {
        "rank": spot.rank,
        "title": words.title,
        "where": where(preparation, spot),
        "reason": words.reason,
        "goes_wrong": words.goes_wrong,
        "try_": list(words.try_),
        "done_when": words.done_when,
        "excerpt": [{"svg": p.svg, "share": round(p.share, 4)} for p in pictures],
        "evidence": evidence_rows(words.evidence),
    }


def evidence_rows(evidence: Sequence[Evidence]) -> list[dict[str, str]]:
    """The measured numbers for the templates."""
    return [
        {"name": e.name, "value": _number(e.value), "unit": e.unit, "source": e.source}
        for e in evidence
    ]


def where(preparation: Preparation, spot: Spot) -> str:
    """Where a spot stands, in words: ``"bars 1 to 14, worst in bar 5; right hand"``."""
    context = preparation.context
    text = context.bar_names(spot.bars)
    if len(text) > 70:
        places = f"{len(spot.places)} places" if len(spot.places) > 1 else "one place"
        text = f"{len(spot.bars)} bars in {places}, from {context.bar_names(spot.bars[:1])}"
    focus = range(spot.focus.first_bar, spot.focus.last_bar + 1)
    if len(spot.bars) > len(focus):
        text += f", worst in {context.bar_names(focus)}"
    hand = "both hands" if spot.hand == "both" else f"{spot.hand} hand"
    return f"{text} · {hand}"


def _others(preparation: Preparation) -> list[dict[str, str]]:
    """The places that are not in the short list, the harder ones, in order of the piece."""
    rest = sorted((s for s in preparation.spots if not s.rank), key=lambda s: -s.severity)[
        :MOST_OTHERS
    ]
    return [
        {"title": s.wording.title, "where": where(preparation, s)}
        for s in sorted(rest, key=lambda s: (s.first_bar, s.id))
    ]


def _number(value: float | int | str) -> str:
    if isinstance(value, float):
        return f"{value:.0f}" if abs(value) >= 100 else f"{value:.3g}"
    return str(value)
