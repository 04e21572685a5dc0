"""The JSON of a reading, ``passagework.reading/1``: a promise to other programs.

Positions and durations are exact fractions of a quarter as strings (``"7/3"``), as written; `bar` is
a bar's index. See ``docs/formats.md``.
"""

from __future__ import annotations

from typing import Any

from passagework.guide.preparation import Preparation
from passagework.score.piece import Note
from passagework.spots.spot import Spot

FORMAT = "passagework.reading/1"

Document = dict[str, Any]


def reading_document(preparation: Preparation) -> Document:
    """The whole reading as plain values, ready for JSON."""
    piece = preparation.piece
    return {
        "format": FORMAT,
        "title": piece.title,
        "composer": piece.composer,
        "bars": [
            {
                "index": bar.index,
                "number": bar.number,
                "onset": str(bar.onset),
                "length": str(bar.length),
                "time": str(bar.time),
                "fifths": bar.fifths,
            }
            for bar in piece.bars
        ],
        "notes": [_note(note, frozenset()) for note in piece.notes],
        "keys": [],
        "chords": [],
        "sections": [],
        "spots": [spot_document(spot) for spot in preparation.spots],
        "warnings": list(piece.warnings),
    }


def _note(note: Note, melody: frozenset[str]) -> Document:
    return {
        "id": note.id,
        "bar": note.bar,
        "onset": str(note.onset),
        "duration": str(note.duration),
        "pitch": note.midi,
        "spelled": str(note.pitch),
        "staff": note.staff,
        "voice": note.voice,
        "hand": note.hand,
        "melody": note.id in melody,
        "grace": bool(note.grace),
        "finger": note.fingers[0] if note.fingers else None,
    }


def spot_document(spot: Spot) -> Document:
    """One spot as plain values."""
    return {
        "id": spot.id,
        "kind": spot.kind,
        "first_bar": spot.first_bar,
        "last_bar": spot.last_bar,
        "hand": spot.hand,
        "severity": spot.severity,
        "rank": spot.rank,
        "title": spot.wording.title,
        "note_ids": list(spot.note_ids),
        "places": [
            {
                "first_bar": place.first_bar,
                "last_bar": place.last_bar,
                "severity": place.severity,
                "note_ids": list(place.note_ids),
            }
            for place in spot.places
        ],
        "evidence": [
            {"name": e.name, "value": e.value, "unit": e.unit, "source": e.source}
            for e in spot.wording.evidence
        ],
        "reason": spot.wording.reason,
    }
