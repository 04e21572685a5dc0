"""What the guide says about the hand: chords beyond it, and fingers that the edition has otherwise."""

from __future__ import annotations

from passagework.guide.music import MOST_ROWS, Row
from passagework.guide.number_words import pretty
from passagework.guide.preparation import Preparation
from passagework.hands.beyond import Beyond
from passagework.spots.words_of import listed

MOST_WAYS = 3
"""Ways out that are named, the cheapest first."""


def beyond_rows(preparation: Preparation) -> list[Row]:
    """What this hand cannot have down at once, with the ways out; the same chord is named once."""
    context = preparation.context
    places: dict[tuple[str, str], list[Beyond]] = {}
    for item in preparation.beyond:
        places.setdefault((item.side, _names(preparation, item)), []).append(item)
    ordered = sorted(places.items(), key=lambda p: (-len(p[1]), p[1][0].onset))[:MOST_ROWS]
    rows = []
    for (side, names), items in sorted(ordered, key=lambda p: p[1][0].onset):
        first = items[0]
        ways = " ".join(w.words for w in first.ways[:MOST_WAYS])
        what = (
            f"{side} hand, {names}: {first.span_mm:.0f} mm where {first.largest_mm:.0f} is the most"
        )
        rows.append(Row(context.bar_names([i.bar for i in items]), what, ways))
    return rows


def _names(preparation: Preparation, item: Beyond) -> str:
    by_id = preparation.piece.by_id
    return listed([f"{pretty(by_id[i].pitch.name)}{by_id[i].pitch.octave}" for i in item.note_ids])


def edition_rows(preparation: Preparation) -> list[Row]:
    """Where this hand cannot take the printed finger, and what it takes instead."""
    piece = preparation.piece
    rows = []
    for note in piece.notes:
        if note.id in preparation.fingering.overruled and note.fingers:
            taken = preparation.fingering.fingers.get(note.id, ())
            rows.append(
                Row(
                    preparation.context.bar_names((note.bar,)),
                    f"{pretty(note.pitch.name)}{note.pitch.octave}, {note.hand} hand: the edition has "
                    f"{'–'.join(map(str, note.fingers))}, for this hand {'–'.join(map(str, taken))}",
                    preparation.fingering.why.get(note.id, ""),
                )
            )
    return rows[:MOST_ROWS]
