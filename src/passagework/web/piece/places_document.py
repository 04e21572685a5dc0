"""The places document: spots, strip and summary of a piece for a hand, as JSON values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from functools import cached_property
from typing import Any

from passagework.guide.glance import glance
from passagework.guide.hands_rows import beyond_rows
from passagework.guide.music import main_key, sections
from passagework.guide.page import LEGEND, where
from passagework.guide.preparation import Preparation
from passagework.guide.strip import StripGrid, strip_grid, strip_rows, strip_svg
from passagework.spots.spot import Spot
from passagework.spots.table import all_kinds
from passagework.web.piece.how_sure import how_sure
from passagework.web.piece.spot_json import spot_from_json, spot_to_json

STRIP_WIDTHS = (1180.0, 780.0)
"""Units of the strip on a desk's screen and on a tablet; both are as high, so that the music comes into sight."""


def places_document(preparation: Preparation) -> dict[str, Any]:
    """The document, ready for JSON."""
    piece, context = preparation.piece, preparation.context
    seen = glance(context, preparation.spots, main_key(context))
    rows = strip_rows(piece, all_kinds(), preparation.candidates)
    return {
        "sentences": list(seen.sentences),
        "facts": [[f.name, f.text] for f in seen.facts],
        "spots": [spot_to_json(s) for s in preparation.spots],
        "where": {s.id: where(preparation, s) for s in preparation.spots},
        "sure": {s.id: list(how_sure(s, context)) for s in preparation.spots},
        "strips": [
            [
                asdict(strip_grid(piece, rows, width)),
                strip_svg(piece, rows, (), sections(context), width),
            ]
            for width in STRIP_WIDTHS
        ],
        "legend": LEGEND.replace("the places below", "the places beside the score"),
        "beyond": [asdict(r) for r in beyond_rows(preparation)],
        "reach": preparation.hand.reach_cm,
    }


class Places:
    """A places document as read from the cache."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document

    @cached_property
    def spots(self) -> tuple[Spot, ...]:
        """The spots, the short list first."""
        return tuple(spot_from_json(s) for s in self.document["spots"])

    @cached_property
    def strips(self) -> tuple[tuple[StripGrid, str], ...]:
        """The strips, the wide one first: where their cells are, and their SVG."""
        return tuple(
            (StripGrid(**grid | {"kinds": tuple(grid["kinds"])}), svg)
            for grid, svg in self.document["strips"]
        )
