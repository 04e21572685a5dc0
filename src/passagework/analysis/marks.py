"""The words of a piece as phrases, each where it stands; words scattered over several places are joined."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from passagework.analysis.lexicon import LANGUAGES, Language, key_of, lexicon
from passagework.analysis.loudness_levels import is_sign
from passagework.analysis.terms import parse_terms
from passagework.analysis.terms_effects import Apart, Phrase
from passagework.score.piece import Piece, Position

JOIN_BARS = 4
"""Bars over which the pieces of one phrase (*poco ... a ... poco*) are looked for."""

_TAIL = re.compile(r"[\s\-–—_.…]+$")


@dataclass(frozen=True, slots=True)
class Mark:
    """A phrase where it stands. `id` is that of the first direction it was read from."""

    id: str
    onset: Position
    bar: int
    staff: int
    text: str
    phrase: Phrase


def piece_language(piece: Piece) -> Language | None:
    """The language that most of the words of `piece` are in; None where no word tells."""
    votes: Counter[Language] = Counter()
    for text in {w.text for w in piece.words}:
        phrase = parse_terms(text)
        for language in LANGUAGES:
            if phrase.language == language:
                votes[language] += len(phrase.parts)
    if not votes:
        return None
    return max(LANGUAGES, key=lambda language: votes[language])


def read_marks(piece: Piece) -> tuple[Mark, ...]:
    """Every phrase of `piece` in order: its words, and dynamics that are words (*cresc.*)."""
    hint = piece_language(piece)
    rows = [(w.onset, w.bar, w.staff, w.id, w.text) for w in piece.words]
    rows += [(d.onset, d.bar, d.staff, d.id, d.text) for d in piece.dynamics if not is_sign(d.text)]
    rows.sort(key=lambda r: r[0])
    own = {key_of(piece.title), key_of(piece.composer)} - {""}
    marks = [
        Mark(ident, onset, bar, staff, text, _phrase(text, hint, own))
        for onset, bar, staff, ident, text in rows
    ]
    return tuple(_joined(marks, piece, hint))


def _phrase(text: str, hint: Language | None, own: set[str]) -> Phrase:
    phrase = parse_terms(text, hint)
    key = key_of(text)
    titled = len(key) > 4 and any(key in name or name in key for name in own)
    if titled and (phrase.unknown or not phrase.parts):
        return Phrase(text, "", (), apart=(*phrase.apart, Apart(text, "heading")))
    return phrase


def _joined(marks: Sequence[Mark], piece: Piece, hint: Language | None) -> list[Mark]:
    """Join *poco* / *a poco* / *cresc.* and *cre* / *scen* / *do* that stand one after the other."""
    signs = {(d.onset, d.staff): d.text for d in piece.dynamics if is_sign(d.text)}
    found: list[Mark] = []
    at = 0
    while at < len(marks):
        mark, used = _syllables(marks, at, hint)
        if used == 1:
            mark, used = _modifier(marks, at, signs, hint)
        found.append(mark)
        at += used
    return found


def _neighbours(marks: Sequence[Mark], at: int) -> list[Mark]:
    first = marks[at]
    row = [first]
    for mark in marks[at + 1 : at + 5]:
        if mark.staff != first.staff or mark.bar - row[-1].bar > JOIN_BARS:
            break
        row.append(mark)
    return row


def _syllables(marks: Sequence[Mark], at: int, hint: Language | None) -> tuple[Mark, int]:
    if not marks[at].phrase.unknown:
        return marks[at], 1
    row = _neighbours(marks, at)
    for count in range(len(row), 1, -1):
        word = "".join(key_of(_TAIL.sub("", m.text)) for m in row[:count])
        if word in lexicon().lines:
            text = "-".join(_TAIL.sub("", m.text).strip("- ") for m in row[:count])
            return replace(row[0], text=text, phrase=parse_terms(word, hint)), count
    return marks[at], 1


def _is_modifier(phrase: Phrase) -> bool:
    return bool(phrase.parts) and all(p.kind == "modifier" for p in phrase.parts)


def _modifier(
    marks: Sequence[Mark],
    at: int,
    signs: dict[tuple[Fraction, int], str],
    hint: Language | None,
) -> tuple[Mark, int]:
    first = marks[at]
    bare = key_of(first.text) in {"a", "poco"}
    if not (_is_modifier(first.phrase) or bare) or first.phrase.apart:
        return first, 1
    sign = signs.get((first.onset, first.staff))
    if sign is not None:
        text = f"{first.text} {sign}"
        return replace(first, text=text, phrase=parse_terms(text, hint)), 1
    row = _neighbours(marks, at)
    text, used, best = first.text, 1, first
    for mark in row[1:]:
        text += f" {mark.text}"
        used += 1
        phrase = parse_terms(text, hint)
        if phrase.parts and not _is_modifier(phrase) and not phrase.unknown:
            near = mark.bar - first.bar <= 1 or any(p.gradual for p in phrase.parts)
            return (replace(first, text=text, phrase=phrase), used) if near else (best, used - 1)
        if not _is_modifier(phrase) and key_of(mark.text) not in {"a", "poco"}:
            break
        best = replace(first, text=text, phrase=phrase)
    joined = len(key_of(best.text).split())
    return (best, used - 1) if best is not first and joined > 1 else (first, 1)
