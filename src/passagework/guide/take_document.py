"""The JSON of a take that was listened to, ``passagework.take/1``: a promise to other programs.

Times are seconds from the start of the take. `played.index` counts the strokes in order of onset, then pitch; `pass` is the index
of a pass; bars are bar indices. See ``docs/formats.md``.
"""

from __future__ import annotations

from typing import Any

from passagework.listening.finding import Finding
from passagework.listening.listen import Listened
from passagework.spots.spot import Spot

FORMAT = "passagework.take/1"

Document = dict[str, Any]


def take_document(listened: Listened, spots: tuple[Spot, ...] = ()) -> Document:
    """The whole of it as plain values, ready for JSON. `spots` of the piece, where they are known, are named by the findings
    that belong to them.
    """
    alignment = listened.alignment
    return {
        "format": FORMAT,
        "recognised": listened.recognised,
        "fit": round(alignment.fit, 4),
        "source": listened.take.source,
        "played": [
            {
                "index": index,
                "onset": round(note.onset, 4),
                "duration": round(note.duration, 4),
                "pitch": note.pitch,
                "velocity": note.velocity,
            }
            for index, note in enumerate(listened.take.notes)
        ],
        "alignment": [
            {"note": m.note, "played": m.played, "pass": m.run} for m in alignment.matches
        ],
        "missing": [{"note": m.note, "pass": m.run} for m in alignment.missing],
        "extra": list(alignment.extra),
        "substitutions": [
            {"note": s.note, "played": s.played, "pass": s.run} for s in alignment.substitutions
        ],
        "passes": [
            {
                "first_bar": p.first_bar,
                "last_bar": p.last_bar,
                "start": round(p.start, 4),
                "end": round(p.end, 4),
                "hand": p.hand,
            }
            for p in alignment.passes
        ],
        "findings": [_finding(f, spots) for f in listened.findings],
        "warnings": list(listened.take.warnings),
    }


def _finding(finding: Finding, spots: tuple[Spot, ...]) -> Document:
    spot = spot_of(finding, spots)
    return {
        "kind": finding.kind,
        "first_bar": finding.first_bar,
        "last_bar": finding.last_bar,
        "hand": finding.hand,
        "note_ids": list(finding.note_ids),
        "measure": {e.name: {"value": e.value, "unit": e.unit} for e in finding.measure},
        "reason": finding.reason,
        "advice": finding.advice,
        "confidence": round(finding.confidence, 3),
        "weight": round(finding.weight, 3),
        "passes": list(finding.runs),
        "played": list(finding.played),
        "spot": spot.id if spot else None,
    }


def spot_of(finding: Finding, spots: tuple[Spot, ...]) -> Spot | None:
    """The spot at which a finding happened: of the kinds that explain it, over its bars, the one that shares most notes; None
    where no spot stands there.
    """
    bars = range(finding.first_bar, finding.last_bar + 1)
    notes = set(finding.note_ids)
    best: tuple[tuple[int, int, float], Spot] | None = None
    for spot in spots:
        if spot.kind not in finding.spot_kinds or not any(bar in bars for bar in spot.bars):
            continue
        shared = len(notes.intersection(spot.note_ids))
        rank = (shared, -finding.spot_kinds.index(spot.kind), spot.severity)
        if best is None or rank > best[0]:
            best = (rank, spot)
    return best[1] if best else None
