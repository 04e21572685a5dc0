"""Words that say which hand plays: m.d., m.s., m.g., r.h., l.h. and their long forms."""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction

from passagework.score.piece import Note, Side, Words

_RIGHT = re.compile(
    r"(?<!\w)(m\.? ?d\.?|r\.? ?h\.?|mano (destra|dritta)|main droite|rechte hand|right hand|destra|droite)(?!\w)",
    re.IGNORECASE,
)
_LEFT = re.compile(
    r"(?<!\w)(m\.? ?[sg]\.?|l\.? ?h\.?|mano (sinistra|manca)|main gauche|linke hand|left hand|sinistra|gauche)(?!\w)",
    re.IGNORECASE,
)

LONGEST = 24
"""Characters of the longest words that are taken for the name of a hand; sentences speak of more."""

REMINDED = 4
"""Bars within which words that give a staff back to its own hand end what other words began."""


def hand_named(text: str) -> Side | None:
    """The hand that short words name; None where they name none, or both."""
    if len(text) > LONGEST:
        return None
    right, left = _RIGHT.search(text), _LEFT.search(text)
    if bool(right) == bool(left):
        return None
    return "right" if right else "left"


def notes_named(
    notes: Sequence[Note], words: Sequence[Words], own: Sequence[Side]
) -> dict[int, Side]:
    """Hands of notes (by index) that words give them; `own` are the hands of their staves.

    Words stand for the notes of their staff that begin where they stand, on the side of the staff where
    they are printed if there are two voices, as far as the beam goes; or until words give the staff back.
    """
    marks = [(w, side) for w in words if (side := hand_named(w.text)) is not None]
    if not marks:
        return {}
    onsets = [note.onset for note in notes]
    named: dict[int, Side] = {}
    for number, (word, side) in enumerate(marks):
        back = next((other for other, whose in marks[number + 1 :]
                     if other.staff == word.staff and whose != side
                     and other.bar - word.bar <= REMINDED), None)  # fmt: skip
        for voice in _voices(notes, onsets, word):
            for i in _stretch(notes, onsets, word, voice, back.onset if back else None):
                named[i] = side
                if own[i] == side:
                    del named[i]
    return named


def _voices(notes: Sequence[Note], onsets: Sequence[Fraction], word: Words) -> list[str]:
    """Voices that the word stands for: all that begin there, or the one on its side of the staff."""
    there: dict[str, int] = {}
    for i in range(bisect_left(onsets, word.onset), len(notes)):
        note = notes[i]
        if note.onset != word.onset:
            break
        if note.staff == word.staff:
            there[note.voice] = max(there.get(note.voice, 0), note.midi)
    if len(there) < 2 or word.placement not in {"above", "below"}:
        return list(there)
    pick = max if word.placement == "above" else min
    return [pick(there, key=lambda voice: there[voice])]


def _stretch(
    notes: Sequence[Note],
    onsets: Sequence[Fraction],
    word: Words,
    voice: str,
    back: Fraction | None,
) -> list[int]:
    """Notes of `voice` from the word on: up to where the staff is given back, else to the beam's end."""
    found: list[int] = []
    open_beam = True
    last: Fraction | None = None
    for i in range(bisect_left(onsets, word.onset), len(notes)):
        note = notes[i]
        if back is not None:
            if note.onset >= back:
                break
        elif note.bar != word.bar:
            break
        if note.voice != voice or note.staff != word.staff:
            continue
        if back is None and last is not None and note.onset > last and not open_beam:
            break
        found.append(i)
        if note.onset != last:
            open_beam = bool(note.beams) and note.beams[0] in {"begin", "continue"}
        elif note.beams:
            open_beam = note.beams[0] in {"begin", "continue"}
        last = note.onset
    return found
