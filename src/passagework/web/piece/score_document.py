"""The score document: what a page needs of a piece whoever plays it, as JSON values.

Bars and notes for anchors and words, the engraved systems, and the layers of tune, harmony, form and words.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import asdict, dataclass
from fractions import Fraction
from functools import cached_property
from typing import Any

from passagework.analysis.terms_read import Term
from passagework.engraving.layout import Layout
from passagework.engraving.marks import Chord, Mark, Tune, Word
from passagework.engraving.system import EngravedSystem, Engraving
from passagework.guide.layers import first_at, music_marks
from passagework.guide.music import (
    chord_rows,
    form_rows,
    key_rows,
    learning_rows,
    learning_sentence,
    tune_rows,
    word_rows,
)
from passagework.guide.number_words import pretty
from passagework.guide.preparation import Preparation
from passagework.score.piece import Piece
from passagework.teaching.edits import Anchor, NoteIndex, index_of

SCORE = Layout(width_mm=164.0, staff_mm=7.4, margin_mm=10.0)
"""The page's score: two thirds of a desk's screen, all of a tablet's; read from further away than a book."""

LONGEST_GLOSS = 34
"""Letters of a term's meaning that find room between the staves; a longer one stands in the list only."""


def score_document(
    preparation: Preparation, engraving: Engraving, trouble: str = ""
) -> dict[str, Any]:
    """The document, ready for JSON; `trouble` says why there is no music."""
    piece, context = preparation.piece, preparation.context
    index = index_of(piece)
    return {
        "title": preparation.title,
        "composer": piece.composer,
        "bars": [
            [bar.label, str(bar.onset), str(bar.length), measure.get("id", "")]
            for bar, measure in zip(piece.bars, preparation.notation.measures, strict=True)
        ],
        "notes": [
            [
                a.note_id,
                a.bar,
                str(a.onset),
                a.pitch,
                index.hands[a.note_id],
                f"{pretty(n.pitch.name)}{n.pitch.octave}",
                list(n.fingers),
                int(bool(n.grace)),
            ]
            for a, n in zip(index.anchors, piece.notes, strict=True)
        ],
        "heads": dict(index.heads),
        "systems": [s.to_json() for s in engraving.systems],
        "outlines": engraving.outlines,
        "music": [_mark_row(m) for m in music_marks(context)],
        "form": [
            ["word", note, section.label]
            for section in context.form.sections
            if (note := _first_note(piece, section.first_bar))
        ],
        "words": [_mark_row(m) for m in _glosses(piece, preparation.terms)],
        "rows": {
            "keys": [asdict(r) for r in key_rows(context)],
            "form": [asdict(r) for r in form_rows(context)],
            "learn": [asdict(r) for r in learning_rows(context)],
            "tune": [asdict(r) for r in tune_rows(context)],
            "chords": [asdict(r) for r in chord_rows(context)],
            "words": [asdict(r) for r in word_rows(context, preparation.terms)],
        },
        "learning": learning_sentence(context),
        "warnings": [*piece.warnings, *([trouble] if trouble else [])],
    }


def _first_note(piece: Piece, bar: int) -> str:
    """The highest note that is printed at the start of a bar, or the first one in it."""
    notes = [n for n in piece.notes_of_bar[bar] if n.printed and not n.grace]
    if not notes:
        return ""
    return max((n for n in notes if n.onset == notes[0].onset), key=lambda n: n.midi).id


def _glosses(piece: Piece, terms: Sequence[Term]) -> list[Mark]:
    """What short terms mean, in pencil at the note they stand at."""
    starts = first_at(piece)
    found: list[Mark] = []
    taken: set[str] = set()
    for term in terms:
        note = starts.get(term.onset)
        if note is None or note in taken or not 0 < len(term.meaning) <= LONGEST_GLOSS:
            continue
        taken.add(note)
        found.append(Word(note, term.meaning, "above"))
    return found


def _mark_row(mark: Mark) -> list[Any]:
    match mark:
        case Tune():
            return ["tune", list(mark.ids)]
        case Chord():
            return ["chord", mark.id, mark.symbol, mark.numeral]
        case Word():
            return ["word", mark.id, mark.text, mark.side]
        case _:
            raise TypeError(f"no row for {mark}")


@dataclass(frozen=True)
class NoteRow:
    """A note as the page speaks of it."""

    anchor: Anchor
    hand: str
    name: str
    printed: tuple[int, ...]
    """Fingers in print."""
    grace: bool


class Score:
    """A score document as read from the cache."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        self.document = document

    def __len__(self) -> int:
        """How many systems there are."""
        return len(self.document["systems"])

    def system(self, at: int) -> EngravedSystem:
        """An engraved system, with all that drawing it takes."""
        return EngravedSystem.from_json(self.document["systems"][at])

    def outlined(self, ids: Collection[str]) -> list[EngravedSystem]:
        """The systems with nothing but the places of these notes: enough to tell where rings lie."""
        bare = {"body": "", "ink": (0, 0, 0, 0), "members": {}, "obstacles": (), "glyphs": ()}
        return [
            EngravedSystem.from_json(
                {**s, **bare, "notes": {i: s["notes"][i] for i in ids if i in s["notes"]}}
            )
            for s in self.document["systems"]
        ]

    def bars_of(self, at: int) -> tuple[int, int]:
        """Indices of the first and the last bar of a system."""
        known = self.bar_of_measure
        bars = [
            known[row[0]] for row in self.document["systems"][at]["measures"] if row[0] in known
        ]
        return min(bars, default=0), max(bars, default=0)

    @cached_property
    def home(self) -> dict[str, int]:
        """For every notehead and rest the index of its system."""
        return {i: at for at, s in enumerate(self.document["systems"]) for i in s["notes"]}

    @cached_property
    def bar_of_measure(self) -> dict[str, int]:
        """Index of a bar by the id of its measure."""
        return {row[3]: at for at, row in enumerate(self.bars)}

    @cached_property
    def rows(self) -> dict[str, NoteRow]:
        """Every note by its id, in order."""
        return {
            row[0]: NoteRow(
                Anchor(row[0], row[1], Fraction(row[2]), row[3]),
                row[4],
                row[5],
                tuple(row[6]),
                bool(row[7]),
            )
            for row in self.document["notes"]
        }

    @cached_property
    def index(self) -> NoteIndex:
        """What edits are placed by."""
        return NoteIndex(
            tuple(r.anchor for r in self.rows.values()),
            {i: r.hand for i, r in self.rows.items()},
            len(self.document["bars"]),
            self.document["heads"],
        )

    @property
    def bars(self) -> list[list[str]]:
        """Label, onset, length and the id of its measure, for every bar."""
        bars: list[list[str]] = self.document["bars"]
        return bars

    def label(self, bar: int) -> str:
        """What a bar is called."""
        return self.bars[bar][0]

    def names(self, first: int, last: int) -> str:
        """Bars in words."""
        if first == last:
            return f"bar {self.label(first)}"
        return f"bars {self.label(first)} to {self.label(last)}"

    @cached_property
    def first_in_bar(self) -> dict[int, str]:
        """For every bar with notes its highest first note."""
        found: dict[int, NoteRow] = {}
        for row in self.rows.values():
            best = found.get(row.anchor.bar)
            if best is None or (row.anchor.onset, -row.anchor.pitch) < (
                best.anchor.onset,
                -best.anchor.pitch,
            ):
                found[row.anchor.bar] = row
        return {bar: row.anchor.note_id for bar, row in found.items()}

    def marks(self, layer: str) -> list[Mark]:
        """The marks of a layer: ``music``, ``form`` or ``words``."""
        return [to_mark(row) for row in self.document[layer]]


def to_mark(row: Sequence[Any]) -> Mark:
    """The mark of a row."""
    if row[0] == "tune":
        return Tune(tuple(row[1]))
    if row[0] == "chord":
        return Chord(row[1], row[2], row[3])
    return Word(row[1], row[2], row[3] if len(row) > 3 else "above")
