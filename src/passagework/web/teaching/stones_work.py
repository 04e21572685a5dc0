"""Which pieces of the library lead up to a piece, searched by a worker."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from passagework.demands.profile import Demands
from passagework.web.jobs import Report

MOST_PIECES: Final = 3000
"""Pieces of the library that are looked through; beyond that those nearest in bars would have to be chosen first."""


@dataclass(frozen=True)
class StonesAsked:
    """What is searched."""

    goal: Demands
    secure: Mapping[str, float]
    library: tuple[tuple[int, str, dict[str, Any]], ...]
    """Id, title and what was measured, of every piece that may be a stone."""


def stones_job(report: Report, asked: StonesAsked) -> bytes:
    """The way as JSON for the page: stones with what each brings and where, and what is left."""
    from passagework.demands.stones import LibraryPiece, stepping_stones
    from passagework.web.teaching.measured import from_json

    report(0.1, "Looking through the library")
    pieces, where = [], {}
    for number, title, body in asked.library:
        measured = from_json(body)
        if measured is not None:
            pieces.append(LibraryPiece(str(number), title, measured.demands))
            where[str(number)] = measured.where
    report(0.4, f"Searching a way among {len(pieces)} pieces")
    path = stepping_stones(asked.goal, asked.secure, pieces)
    return json.dumps(
        {
            "stones": [
                {
                    "id": int(stone.id),
                    "title": stone.title,
                    "brings": [
                        {
                            "kind": b.kind,
                            "before": b.before,
                            "after": b.after,
                            "where": where[stone.id].get(b.kind, ""),
                            "wanted": b.wanted,
                        }
                        for b in stone.brings
                    ],
                }
                for stone in path.stones
            ],
            "missing": [
                {"kind": m.kind, "secure": m.secure, "asked": m.asked} for m in path.missing
            ],
            "left": [{"kind": m.kind, "secure": m.secure, "asked": m.asked} for m in path.left],
            "fewest": path.fewest,
            "least_new": path.least_new,
            "looked_through": len(pieces),
        }
    ).encode()
