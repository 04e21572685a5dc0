"""The terms of a piece, each with its meaning and with what it comes to where it stands."""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.lexicon import LANGUAGE_NAMES, Dimension
from passagework.analysis.marks import read_marks
from passagework.analysis.terms_effects import Effect, Phrase
from passagework.analysis.terms_place import Places, consequence
from passagework.score.piece import Piece, Position


@dataclass(frozen=True, slots=True)
class Term:
    """A phrase of the page that is a term, or has a word that nobody knows."""

    id: str
    onset: Position
    bar: int
    staff: int
    text: str
    phrase: Phrase
    meaning: str
    """Plain English; ``""`` where nothing of it is understood."""
    consequence: str
    """What it comes to here: compared with what, until where. ``""`` where there is nothing to add."""
    directions: tuple[tuple[Dimension, int], ...] = ()
    """For loudness and tempo +1 or -1, seen from what stood just before."""
    other_readings: tuple[str, ...] = ()
    """Other ways to understand it, each a sentence without its full stop."""

    @property
    def language(self) -> str:
        """Name of its language, ``""`` where nothing is understood."""
        return LANGUAGE_NAMES.get(self.phrase.language, "")


def read_terms(piece: Piece) -> tuple[Term, ...]:
    """The terms of `piece` in order. Text that is no term (titles, numbers, metronome marks) is left out."""
    return read_terms_in(piece)[1]


def read_terms_in(piece: Piece) -> tuple[Places, tuple[Term, ...]]:
    """The same with the places that the terms were read in, for further questions."""
    marks = read_marks(piece)
    places = Places(piece, marks)
    found: list[Term] = []
    for mark in marks:
        phrase = mark.phrase
        if not phrase.parts and not phrase.unknown:
            continue
        said: list[str] = []
        directions: list[tuple[Dimension, int]] = []
        for effect in phrase.parts:
            text, direction = consequence(effect, mark, places)
            if text and text not in said:
                said.append(text)
            if direction and effect.dimension in {"loudness", "tempo"}:
                directions.append((effect.dimension, direction))
        said += [_unknown(word, phrase) for word in phrase.unknown]
        found.append(
            Term(
                mark.id, mark.onset, mark.bar, mark.staff, mark.text, phrase, phrase_meaning(phrase),
                "; ".join(said), tuple(dict.fromkeys(directions)), _others(phrase),
            )
        )  # fmt: skip
    return places, tuple(found)


def phrase_meaning(phrase: Phrase) -> str:
    """The meaning of `phrase` as one line: parts joined, doubles left out."""
    return "; ".join(dict.fromkeys(p.meaning for p in phrase.parts))


def _unknown(word: str, phrase: Phrase) -> str:
    near = [s for s in phrase.suggestions if s.word == word]
    if not near:
        return f"“{word}” is not in the lexicon"
    offers = " or ".join(f"“{s.name}” ({s.meaning})" for s in near)
    return f"“{word}” is not in the lexicon; did the page mean {offers}?"


def _others(phrase: Phrase) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(
            f"“{reading.words}” may also mean: {_joined(reading.parts)}"
            for reading in phrase.alternatives
        )
    )


def _joined(parts: tuple[Effect, ...]) -> str:
    return "; ".join(dict.fromkeys(p.meaning for p in parts))
