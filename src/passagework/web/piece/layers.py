"""The layers over the score: what the program pencils, and what the teacher writes in blue."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from passagework.engraving.marks import Chord, Mark, Ring, Side, Tune, Word
from passagework.teaching.edits import Shown
from passagework.web.piece.fingers_document import Fingers
from passagework.web.piece.score_document import Score


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer that the page shows and hides."""

    name: str
    """Its class in the drawing."""
    title: str
    """What it is called on the page."""
    on: bool
    """Whether a page that is opened shows it."""


LAYERS: Final = (
    Layer("places", "places", True),
    Layer("fingers", "fingers", True),
    Layer("mine", "my notes", True),
    Layer("tune", "tune", False),
    Layer("harmony", "harmony", False),
    Layer("form", "form", False),
    Layer("terms", "words explained", False),
)
"""In the order in which they are named on the page."""

LONGEST_NOTE: Final = 32
"""Letters of the teacher's note that stand in the music; the whole of it stands beside."""


def layers_of(score: Score, fingers: Fingers, shown: Shown) -> dict[str, list[Mark]]:
    """The marks of every layer, in the order in which they look for room."""
    music = score.marks("music")
    return {
        "places": [Ring(s.focus.note_ids, str(s.rank)) for s in shown.spots if s.rank],
        "fingers": _fingers(score, fingers, shown),
        "mine": _notes(score, shown),
        "form": score.marks("form"),
        "terms": score.marks("words"),
        "tune": [m for m in music if isinstance(m, Tune)],
        "harmony": [m for m in music if isinstance(m, Chord)],
    }


def _fingers(score: Score, fingers: Fingers, shown: Shown) -> list[Mark]:
    """Fingers in pencil, and in blue those that the teacher fixed (unless the edition prints the same)."""
    marks: list[Mark] = [
        m for m in fingers.marks if isinstance(m, Word) and m.id not in shown.fingers
    ]
    for note, taken in shown.fingers.items():
        row = score.rows.get(note)
        if row is not None and row.printed != taken:
            side: Side = "above" if row.hand == "right" else "below"
            marks.append(Word(note, "–".join(map(str, taken)), side, "teacher"))
    return marks


def _notes(score: Score, shown: Shown) -> list[Mark]:
    """The teacher's notes, each beside the note or over the bar that it belongs to; shortened."""
    marks: list[Mark] = []
    for note, head in shown.notes:
        place = head or score.first_in_bar.get(note.bar)
        if place is not None:
            # A note of the lower staff has its free paper below.
            side: Side = "below" if head and score.rows[head].hand == "left" else "above"
            marks.append(Word(place, shortened(note.text), side, "teacher"))
    return marks


def shortened(text: str) -> str:
    """`text` in one line, cut at a word where it is long."""
    line = " ".join(text.split())
    if len(line) <= LONGEST_NOTE:
        return line
    cut = line[: LONGEST_NOTE - 1].rsplit(" ", 1)[0]
    return f"{cut} …"
