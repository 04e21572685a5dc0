"""Words at notes, and the rows of chord symbols under a system."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from passagework.engraving.layout import SPACE
from passagework.engraving.marks import Chord, Word
from passagework.engraving.pencil import GRAPHITE
from passagework.engraving.placing import Room
from passagework.engraving.rings import Drawn
from passagework.engraving.symbols import symbol
from passagework.engraving.system import EngravedSystem
from passagework.engraving.text import ASCENT, words

TEACHER: Final = "#2f5f93"
"""The blue pencil of the teacher."""

WORD_SIZE: Final = round(1.7 * SPACE)
CHORD_SIZE: Final = round(1.9 * SPACE)
NUMERAL_SIZE: Final = round(1.6 * SPACE)
GAP: Final = SPACE // 4
FARTHEST: Final = 9 * SPACE
"""How far a word may stand from its note to find free paper."""

_COLOUR: Final = {
    "pencil": f' fill="{GRAPHITE}"',
    "print": "",
    "teacher": f' fill="{TEACHER}" font-style="italic"',
}


def set_words(system: EngravedSystem, marks: Sequence[Word], room: Room) -> list[Drawn]:
    """Every word above or below its note, on the nearest free paper; `room` learns where they stand."""
    drawn = []
    for mark in marks:
        place = system.notes.get(mark.id)
        if place is None or not mark.text:
            continue
        x = (place.head[0] + place.head[2]) / 2
        up = mark.side == "above"
        base = place.full[1] - GAP if up else place.full[3] + GAP + ASCENT * WORD_SIZE
        shape = words(mark.text, x, base, WORD_SIZE, anchor="middle", more=_COLOUR[mark.hand])
        step = -(SPACE // 4) if up else SPACE // 4
        box = room.outwards(shape.box, step, FARTHEST)
        if box != shape.box:
            moved = base + box[1] - shape.box[1]
            shape = words(mark.text, x, moved, WORD_SIZE, anchor="middle", more=_COLOUR[mark.hand])
        room.take(shape.box)
        drawn.append(Drawn(shape.svg, shape.box))
    return drawn


def set_chords(system: EngravedSystem, marks: Sequence[Chord], bottom: int) -> list[Drawn]:
    """Chord symbols in a row under `bottom`, their numerals under them.

    A symbol that would run into the one before it goes one row lower.
    """
    here = sorted(
        (system.notes[m.id].head[0], m.symbol, m.numeral) for m in marks if m.id in system.notes
    )
    drawn: list[Drawn] = []
    ends: list[float] = []
    two = any(numeral for _, _, numeral in here)
    high = CHORD_SIZE * 1.15 + (NUMERAL_SIZE * 1.1 if two else 0) + GAP
    for x, name, numeral in here:
        row = next((r for r, end in enumerate(ends) if end < x), len(ends))
        base = bottom + GAP + row * high + CHORD_SIZE
        shapes = [symbol(name, x, base, CHORD_SIZE)]
        if numeral:
            shapes.append(
                symbol(numeral, x, base + NUMERAL_SIZE * 1.1, NUMERAL_SIZE, more=_COLOUR["pencil"])
            )
        end = max(s.box[2] for s in shapes) + SPACE // 2
        if row == len(ends):
            ends.append(end)
        else:
            ends[row] = end
        drawn += [Drawn(s.svg, s.box) for s in shapes]
    return drawn
