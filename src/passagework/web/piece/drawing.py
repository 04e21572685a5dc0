"""The drawn systems of a sheet: marks sorted to their systems, and only what has changed drawn again."""

from __future__ import annotations

from base64 import urlsafe_b64encode
from collections.abc import Mapping, MutableMapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from itertools import chain
from typing import Any

from passagework.engraving.layered import LayeredSystem, draw_layers, rings_on
from passagework.engraving.marks import Chord, Mark, Ring, Tune, Word
from passagework.engraving.system import EngravedSystem
from passagework.engraving.together import characters
from passagework.web.piece.score_document import SCORE, Score

PREFIX = "s-"
"""Before the ids of the score's notes and bars: a file may call a note as the page calls something else."""

PRINT_BYTES = 6
"""Of the digest that tells two drawings of one system apart."""

DRAWN_VERSION = 1
"""Raised when a system with the same marks is drawn otherwise."""


@dataclass(frozen=True)
class Drawing:
    """A system as it stands on the page."""

    at: int
    print_: str
    """Tells two drawings of the same system apart."""
    svg: str
    width: int
    height: int
    first_bar: int
    last_bar: int


def draw_sheet(
    score: Score, layers: Mapping[str, Sequence[Mark]], known: MutableMapping[str, LayeredSystem]
) -> list[Drawing]:
    """Every system with its marks. `known` holds drawings by print and takes new ones."""
    sorted_ = _sorted_marks(score, layers)
    ringed_ids = {i for m in chain(*layers.values()) if isinstance(m, Ring) for i in m.ids}
    rings = rings_on(score.outlined(ringed_ids), layers)
    found = []
    for at in range(len(score)):
        here = sorted_[at]
        ringed = {name: pieces[at] for name, pieces in rings.items() if pieces[at]}
        print_ = _print(at, here, ringed)
        drawn = known.get(print_)
        if drawn is None:
            system = score.system(at)
            ground = _ground(score, system)
            drawn = draw_layers(system, here, ringed, SCORE, ground=ground, prefix=PREFIX)
            known[print_] = drawn
        found.append(Drawing(at, print_, drawn.svg, drawn.width, drawn.height, *score.bars_of(at)))
    return found


def shared_signs(score: Score) -> str:
    """The music characters that all systems use, defined once for the page."""
    return characters(score.document["outlines"])


def _sorted_marks(
    score: Score, layers: Mapping[str, Sequence[Mark]]
) -> list[dict[str, list[Mark]]]:
    """For every system the marks on it by layer; tunes are cut where the line turns."""
    home = score.home
    found: list[dict[str, list[Mark]]] = [{name: [] for name in layers} for _ in range(len(score))]
    for name, marks in layers.items():
        for mark in marks:
            if isinstance(mark, Tune):
                parts: dict[int, list[str]] = {}
                for i in mark.ids:
                    if i in home:
                        parts.setdefault(home[i], []).append(i)
                for at, ids in parts.items():
                    found[at][name].append(Tune(tuple(ids)))
            elif isinstance(mark, Word | Chord) and mark.id in home:
                found[home[mark.id]][name].append(mark)
    return found


def _print(at: int, marks: Mapping[str, Sequence[Mark]], ringed: Mapping[str, Any]) -> str:
    text = repr((DRAWN_VERSION, at, dict(marks), dict(ringed)))
    return urlsafe_b64encode(blake2b(text.encode(), digest_size=PRINT_BYTES).digest()).decode()


def _ground(score: Score, system: EngravedSystem) -> str:
    """Under every bar a field that can be pointed at."""
    top = system.staves[0][0] if system.staves else system.ink[1]
    bottom = system.staves[-1][1] if system.staves else system.ink[3]
    return "".join(
        f'<rect class="bar" data-bar="{score.bar_of_measure[m.id]}" x="{m.left}" y="{top}" '
        f'width="{m.right - m.left}" height="{bottom - top}"/>'
        for m in system.measures
        if m.id in score.bar_of_measure
    )


def layered_to_json(drawn: Mapping[str, LayeredSystem]) -> dict[str, Any]:
    """Drawings by print as JSON values."""
    return {k: [d.svg, d.width, d.height, d.deep] for k, d in drawn.items()}


def layered_from_json(rows: Mapping[str, Any]) -> dict[str, LayeredSystem]:
    """The drawings that `layered_to_json` wrote."""
    return {k: LayeredSystem(*row) for k, row in rows.items()}
