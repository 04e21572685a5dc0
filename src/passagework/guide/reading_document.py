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
    context = preparation.context
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
        "notes": [_note(note, context.tune.melody) for note in piece.notes],
        "keys": [
            {
                "onset": str(key.onset),
                "tonic": key.tonic,
                "mode": key.mode,
                "confidence": round(key.confidence, 3),
            }
            for key in context.harmony.keys
        ],
        "chords": [
            {
                "onset": str(chord.onset),
                "duration": str(chord.duration),
                "root": chord.root,
                "quality": chord.quality,
                "bass": chord.bass,
                "symbol": chord.symbol,
                "numeral": chord.numeral,
                "confidence": round(chord.confidence, 3),
            }
            for chord in context.harmony.chords
        ],
        "sections": [
            {"first_bar": s.first_bar, "last_bar": s.last_bar, "label": s.label}
            for s in context.form.sections
        ],
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
