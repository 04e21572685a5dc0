"""How long a note sounds of the time it is written for: the touch asked for by signs, slurs and words.

Shares follow what methods and dictionaries teach: staccato about half of the value, staccatissimo a quarter, portato
three quarters. Without any sign the key is let go a moment before the next note; under a slur it is held a moment
into it (Repp, 1995, measured overlaps of some tens of milliseconds in legato on a digital piano).
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Sequence

from passagework.analysis.marks import Mark
from passagework.score.piece import Note, Piece, Position
from passagework.sound.stroke import SHORTEST_S

SHARES = {"staccatissimo": 0.25, "staccato": 0.5, "portato": 0.75}
LEGATO_OVERLAP_S = 0.03
"""Seconds that a legato note reaches into the next."""
RELEASE_SHARE, RELEASE_S = 0.1, 0.06
"""Share of an ordinary note, and at most so many seconds, that pass between its release and the next note."""

_DETACHED = {"staccatissimo": "staccatissimo", "portato": "portato", "non legato": "portato",
             "mezzo staccato": "portato", "quasi staccato": "portato"}  # fmt: skip
"""Terms of touch that are not plain staccato, by the lexicon's names."""

Touch = str
"""``staccatissimo``, ``staccato``, ``portato``, ``tenuto``, ``legato`` or ``ordinary``."""


class Touches:
    """Answers how a note is touched."""

    def __init__(self, piece: Piece, marks: Sequence[Mark]) -> None:
        self._slurred = _slurred(piece)
        self._words = {staff: _words(piece, marks, staff) for staff in range(1, piece.staves + 1)}

    def of(self, note: Note) -> Touch:
        """The touch of `note`: its own signs first, then the slur, then the words in force."""
        signs = note.articulations
        slurred = note.id in self._slurred
        if "staccatissimo" in signs or "spiccato" in signs:
            return "staccatissimo"
        if "detached-legato" in signs or ("staccato" in signs and (slurred or "tenuto" in signs)):
            return "portato"
        if "staccato" in signs:
            return "staccato"
        if slurred:
            return "legato"
        if "tenuto" in signs:
            return "tenuto"
        return self._word(note)

    def _word(self, note: Note) -> Touch:
        onsets, touches = self._words.get(note.staff, ([], []))
        at = bisect_right(onsets, note.onset) - 1
        return touches[at] if at >= 0 else "ordinary"


def released(touch: Touch, start: float, end: float) -> float:
    """When the key is let go of a note written from `start` to `end` (seconds)."""
    written = end - start
    if touch == "legato":
        return end + LEGATO_OVERLAP_S
    if touch == "tenuto":
        return end
    if touch in SHARES:
        return start + min(written, max(SHARES[touch] * written, SHORTEST_S))
    return end - min(RELEASE_SHARE * written, RELEASE_S)


def _slurred(piece: Piece) -> frozenset[str]:
    """Notes under a slur, its last ones apart. A slur belongs to the voices of its two ends."""
    rows: dict[tuple[int, str], list[tuple[Position, Position]]] = defaultdict(list)
    for slur in piece.slurs:
        first, last = piece.by_id.get(slur.first), piece.by_id.get(slur.last)
        if first is None or last is None or last.onset <= first.onset:
            continue
        for key in {(first.staff, first.voice), (last.staff, last.voice)}:
            rows[key].append((first.onset, last.onset))
    merged = {key: _joined(spans) for key, spans in rows.items()}
    found = set()
    for note in piece.notes:
        onsets, ends = merged.get((note.staff, note.voice), ([], []))
        at = bisect_right(onsets, note.onset) - 1
        if at >= 0 and note.onset < ends[at]:
            found.add(note.id)
    return frozenset(found)


def _joined(spans: list[tuple[Position, Position]]) -> tuple[list[Position], list[Position]]:
    """Onsets and ends of the union of `spans`; spans that only touch stay apart."""
    onsets: list[Position] = []
    ends: list[Position] = []
    for onset, end in sorted(spans):
        if ends and onset < ends[-1]:
            ends[-1] = max(ends[-1], end)
        else:
            onsets.append(onset)
            ends.append(end)
    return onsets, ends


def _words(piece: Piece, marks: Sequence[Mark], staff: int) -> tuple[list[Position], list[Touch]]:
    """Touches that words ask for in one staff, from where on.

    *Legato* is for both staves, *staccato* and its like for the staff it stands at; *tenuto* as a word is for one
    note and not followed.
    """
    rows: dict[Position, Touch] = {}
    for mark in marks:
        for effect in mark.phrase.of("touch"):
            if effect.verb == "smooth" and not effect.negated:
                rows[mark.onset] = "legato"
            elif (effect.verb == "detached" or effect.negated) and mark.staff in (staff, 0):
                name = effect.name or effect.words
                negated = effect.words.lower().startswith(("non", "no "))
                rows[mark.onset] = "portato" if negated else _DETACHED.get(name, "staccato")
    if piece.staves < 1:
        return [], []
    onsets = sorted(rows)
    return onsets, [rows[o] for o in onsets]
