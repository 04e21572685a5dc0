"""The bars of a finding as they are printed, with what was played pencilled in: rings, and the keys that were struck instead."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from passagework.engraving.marks import Mark
    from passagework.guide.preparation import Preparation
    from passagework.listening.finding import Finding
    from passagework.listening.listen import Listened

MOST_BARS: Final = 4
"""Bars that are shown of a finding; a longer one is shown from its beginning."""
TWENTIETHS: Final = 20
"""Widths are told in twentieths of the column."""


def music_of(
    preparation: Preparation, listened: Listened, findings: Sequence[Finding]
) -> dict[str, Any]:
    """``{"rows": systems of each finding as [svg, width], "outlines": shared characters, "trouble": one line or nothing}``."""
    from passagework.engraving.draw import draw
    from passagework.engraving.errors import EngravingError
    from passagework.engraving.render import EXCERPT, start_excerpt
    from passagework.engraving.together import music_characters, without_characters

    begun = [
        start_excerpt(preparation.notation, f.first_bar, min(f.last_bar, f.first_bar + MOST_BARS - 1))
        for f in findings
    ]  # fmt: skip
    rows: list[list[list[Any]]] = []
    outlines: dict[str, str] = {}
    trouble = ""
    for at, (finding, pending) in enumerate(zip(findings, begun, strict=True)):
        try:
            systems = draw(pending.result(), EXCERPT, marks_of(listened, finding), shrink=True)
        except EngravingError as error:
            systems, trouble = [], f"The music is not shown: {error}."
        outlines.update(music_characters([s.svg for s in systems]))
        rows.append(
            [
                [without_characters(s.svg, f"take{at}-"), _width(s.width_mm / EXCERPT.width_mm)]
                for s in systems
            ]
        )
    return {"rows": rows, "outlines": outlines, "trouble": trouble}


def _width(share: float) -> int:
    return max(1, min(TWENTIETHS, -int(-share * TWENTIETHS // 1)))


def marks_of(listened: Listened, finding: Finding) -> list[Mark]:
    """A ring round the notes concerned; over a note in whose place another key was struck, that key."""
    from passagework.engraving.marks import Ring, Word
    from passagework.listening.findings.slip_words import letter_name, spelled_like

    heard, take = listened.heard, listened.take
    wanted, strokes = set(finding.note_ids), set(finding.played)
    last = min(finding.last_bar, finding.first_bar + MOST_BARS - 1)
    shown = {n.id for n in heard.piece.notes if finding.first_bar <= n.bar <= last}
    # What concerns every note that is shown needs no ring.
    marks: list[Mark] = [Ring(finding.note_ids)] if wanted and not shown <= wanted else []
    told: set[str] = set()
    for row in listened.alignment.substitutions:
        if row.note in wanted and row.played in strokes and row.note not in told:
            told.add(row.note)
            note = heard.piece.by_id[row.note]
            name = letter_name(spelled_like(heard, note, take.notes[row.played].pitch))
            marks.append(Word(row.note, f"played {name}"))
    return marks
