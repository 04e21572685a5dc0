"""Where pieces stand on the teacher's own scale, learned by a worker from those that the teacher has placed."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from passagework.web.jobs import Report


@dataclass(frozen=True)
class ToPlace:
    """A piece of the library with what was measured of it."""

    id: int
    title: str
    label: str
    """Where the teacher has placed it; empty where it is not."""
    profile: dict[str, Any]


def placing_job(report: Report, labels: tuple[str, ...], pieces: tuple[ToPlace, ...]) -> bytes:
    """A place for every piece, as JSON. Raises `ValueError` where the levels contradict the list."""
    from passagework.demands.levels import FEWEST_GRADED, GradedPiece, learn_levels
    from passagework.demands.words import ranked_only, reason_sentence
    from passagework.web.teaching.measured import from_json

    report(0.1, "Reading what was measured")
    measured = {p.id: from_json(p.profile) for p in pieces}
    known = [(p, m.demands) for p in pieces if (m := measured[p.id]) is not None]
    graded = [GradedPiece(str(p.id), p.label, demands) for p, demands in known if p.label]
    report(0.3, f"Learning the scale from {len(graded)} pieces")
    scale = learn_levels(graded, list(labels))
    titles = {str(p.id): p.title for p in pieces}
    rows = []
    for at, (piece, demands) in enumerate(known):
        report(0.5 + 0.5 * at / len(known), f"Placing {piece.title}")
        placed = scale.place(demands, str(piece.id) if piece.label else None)
        rows.append(
            {
                "id": piece.id,
                "title": piece.title,
                "own": piece.label,
                "level": placed.level,
                "low": placed.low,
                "high": placed.high,
                "score": placed.score,
                "reasons": [reason_sentence(r, graded=bool(graded)) for r in placed.reasons],
                "neighbours": [
                    {"id": int(n.id), "title": titles[n.id], "level": n.level}
                    for n in placed.neighbours
                ],
            }
        )
    rows.sort(key=lambda row: (row["score"], row["title"]))
    words = ""
    if scale.ranks_only:
        words = ranked_only(len(graded), FEWEST_GRADED, len(scale.order.levels))
    return json.dumps({"rows": rows, "graded": len(graded), "ranked_only": words}).encode()
