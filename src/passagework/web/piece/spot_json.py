"""Spots as plain JSON values, and back."""

from __future__ import annotations

from typing import Any

from passagework.spots.spot import Evidence, Place, Spot, Wording


def spot_to_json(spot: Spot) -> dict[str, Any]:
    """All of a spot."""
    words = spot.wording
    return {
        "id": spot.id,
        "kind": spot.kind,
        "hand": spot.hand,
        "severity": spot.severity,
        "places": [_place(p) for p in spot.places],
        "focus": _place(spot.focus),
        "family": spot.family,
        "rank": spot.rank,
        "title": words.title,
        "reason": words.reason,
        "goes_wrong": words.goes_wrong,
        "try": list(words.try_),
        "done_when": words.done_when,
        "evidence": [[e.name, e.value, e.unit, e.source] for e in words.evidence],
    }


def spot_from_json(value: dict[str, Any]) -> Spot:
    """The spot that `spot_to_json` wrote."""
    return Spot(
        id=value["id"],
        kind=value["kind"],
        hand=value["hand"],
        severity=value["severity"],
        places=tuple(_to_place(p) for p in value["places"]),
        focus=_to_place(value["focus"]),
        wording=Wording(
            title=value["title"],
            reason=value["reason"],
            goes_wrong=value["goes_wrong"],
            try_=tuple(value["try"]),
            done_when=value["done_when"],
            evidence=tuple(Evidence(*row) for row in value["evidence"]),
        ),
        family=value["family"],
        rank=value["rank"],
    )


def _place(place: Place) -> list[Any]:
    return [place.first_bar, place.last_bar, list(place.note_ids), place.severity]


def _to_place(row: list[Any]) -> Place:
    return Place(row[0], row[1], tuple(row[2]), row[3])
