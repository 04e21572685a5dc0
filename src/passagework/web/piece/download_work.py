"""Files to be taken away, made in a worker's process."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from passagework.guide.write import guide_pdf as made_guide
from passagework.hands.hand import Hands
from passagework.hands.write import write_fingering
from passagework.teaching.edit_rows import Row, from_rows
from passagework.teaching.edits import index_of, lay_over
from passagework.web.jobs import Report
from passagework.web.piece.hold import Fixed, prepared_with


def guide_pdf(
    report: Report,
    score: bytes,
    name: str,
    hands: Hands,
    fixed: Fixed,
    edits: Sequence[Row],
    student: str,
    title: str,
) -> bytes:
    """The guide on paper, with the teacher's edits laid over it."""
    report(None, "Making the guide")
    plain = prepared_with(score, name, hands, fixed)
    shown = lay_over(plain.spots, from_rows(edits), index_of(plain.piece))
    reading = replace(plain.reading, piece=replace(plain.piece, title=title))
    edited = replace(plain, reading=reading, student=student)
    edited.__dict__.update({n: plain.__dict__[n] for n in CARRIED if n in plain.__dict__})
    edited.__dict__["spots"] = shown.spots
    return made_guide(edited, lambda words: report(None, words.capitalize()))


CARRIED = ("context", "candidates", "terms", "beyond", "study", "editorial_ids")
"""What of a preparation hangs neither on the student's name nor on the teacher's words."""


def fingered(
    report: Report, score: bytes, name: str, hands: Hands, fixed: Fixed, sparse: bool
) -> bytes:
    """The score as MusicXML with this fingering."""
    report(None, "Writing the fingers")
    preparation = prepared_with(score, name, hands, fixed)
    return write_fingering(preparation.notation, preparation.fingering, sparse=sparse).to_bytes()
