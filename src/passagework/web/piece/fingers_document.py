"""The fingers document: the fingering for two hands with the teacher's fingers fixed, as JSON values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from typing import Any

from passagework.engraving.marks import Mark
from passagework.guide.hands_rows import edition_rows
from passagework.guide.layers import finger_marks
from passagework.guide.preparation import Preparation
from passagework.web.piece.score_document import to_mark


def fingers_document(preparation: Preparation) -> dict[str, Any]:
    """The document, ready for JSON."""
    fingering = preparation.fingering
    return {
        "fingers": {i: list(f) for i, f in fingering.fingers.items()},
        "why": dict(fingering.why),
        "overruled": sorted(fingering.overruled),
        "warnings": list(fingering.warnings),
        "marks": [["word", m.id, m.text, m.side] for m in finger_marks(preparation)],  # type: ignore[union-attr]
        "edition": [asdict(r) for r in edition_rows(preparation)],
    }


NONE_YET: dict[str, Any] = {
    "fingers": {},
    "why": {},
    "overruled": [],
    "warnings": [],
    "marks": [],
    "edition": [],
}
"""The document of a fingering that is still being found."""


class Fingers:
    """A fingers document as read from the cache."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document

    def of(self, note_id: str) -> tuple[int, ...]:
        """Fingers of a note; empty where it is not fingered."""
        return tuple(self.document["fingers"].get(note_id, ()))

    @property
    def marks(self) -> list[Mark]:
        """Fingers in pencil, where an editor would print one."""
        return [to_mark(row) for row in self.document["marks"]]
