"""Chords worth stopping at, with the notes that make them so, in a teacher's words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from passagework.analysis.harmony.qualities import (
    AUGMENTED_SIXTHS,
    QUALITIES,
    fifths_of,
    spelled,
)
from passagework.analysis.harmony.result import Chord, Harmony, KeySpan
from passagework.analysis.harmony.scales import Key
from passagework.score.piece import Note, Piece

NotableKind = Literal[
    "augmented sixth", "Neapolitan", "borrowed", "change of mode", "diminished seventh",
    "secondary dominant", "outside the key", "augmented", "ninth", "seventh", "suspended",
    "deceptive",
]  # fmt: skip
"""Why a chord is worth a stop, the more particular reason first."""

_ALTERED = {0: "", 1: " sharp", -1: " flat", 2: " double sharp", -2: " double flat"}
_DOMINANT_SEVENTHS = frozenset({"dominant", "dominant-ninth"})


@dataclass(frozen=True, slots=True)
class NotableChord:
    """A chord that the ear does not expect, or that is more than a plain triad."""

    chord: int
    """Index among the chords of the analysis."""
    kind: NotableKind
    note_ids: tuple[str, ...]
    """The notes that make it special; never empty."""
    words: str
    """One sentence that names them."""
    surprise: float
    """Information in bits, see `Chord.surprise`."""


def note_words(fifths: int) -> str:
    """A place on the line of fifths in words: ``"A flat"``."""
    name = spelled(fifths)
    alter = name.count("#") - name.count("b")
    return name[0] + _ALTERED.get(alter, f" altered by {alter} semitones")


def notable_chords(piece: Piece, harmony: Harmony) -> tuple[NotableChord, ...]:
    """Every chord of `harmony` that is more than a plain triad of its key, the most surprising first.

    A chord that only changes its bass, or returns to itself, is named once.
    """
    found = []
    for index, chord in enumerate(harmony.chords):
        before = harmony.chords[index - 1] if index else None
        if before is not None and (before.root, before.quality) == (chord.root, chord.quality):
            continue
        look = _Look(piece, harmony, index)
        for rule in _RULES:
            said = rule(look)
            if said is not None and said[1]:
                found.append(NotableChord(index, *said, chord.surprise))
                break
    return tuple(sorted(found, key=lambda n: (-n.surprise, n.chord)))


Said = tuple[NotableKind, tuple[str, ...], str]


class _Look:
    """One chord with what the rules ask about it."""

    def __init__(self, piece: Piece, harmony: Harmony, index: int) -> None:
        self.chord: Chord = harmony.chords[index]
        self.before: Chord | None = harmony.chords[index - 1] if index else None
        self.after: Chord | None = (
            harmony.chords[index + 1] if index + 1 < len(harmony.chords) else None
        )
        self.span: KeySpan = harmony.keys[self.chord.key]
        self.key = Key(fifths_of(self.span.tonic), self.span.mode == "minor")
        self.root = fifths_of(self.chord.root)
        self.notes: list[Note] = [piece.by_id[i] for i in self.chord.note_ids]

    def at(self, *places: int) -> tuple[str, ...]:
        """Ids of the chord's notes at those places of the line of fifths, enharmonic ones too."""
        wanted = {p % 12 for p in places}
        return tuple(n.id for n in self.notes if n.pitch.fifths % 12 in wanted)

    def written(self, place: int) -> str:
        """How a note of the chord is written where it occurs, in words."""
        for note in self.notes:
            if (note.pitch.fifths - place) % 12 == 0:
                return note_words(note.pitch.fifths)
        return note_words(place)

    def tone(self, member: int) -> int:
        """Place of a tone of the chord, in order of stacking."""
        return self.root + QUALITIES[self.chord.quality].tones[member]

    def foreign(self) -> list[int]:
        """Places of the chord's notes that do not sound in the scale of the key, as written."""
        places = dict.fromkeys(n.pitch.fifths for n in self.notes)
        return [p for p in places if not self.key.sounds(p)]


def _listed(parts: Iterable[str]) -> str:
    names = list(dict.fromkeys(parts))
    return names[0] if len(names) == 1 else ", ".join(names[:-1]) + " and " + names[-1]


def _augmented_sixth(look: _Look) -> Said | None:
    if look.chord.quality not in AUGMENTED_SIXTHS:
        return None
    low, high = look.key.tonic - 4, look.key.tonic + 6
    return (
        "augmented sixth",
        look.at(low, high),
        f"The {look.written(low)} and the {look.written(high)} pull apart, one down and one up, "
        f"to the {note_words(look.key.tonic + 1)}.",
    )


def _neapolitan(look: _Look) -> Said | None:
    flat_second = look.key.tonic - 5
    if (look.root - flat_second) % 12 or look.chord.quality not in {"major", "major-seventh"}:
        return None
    return (
        "Neapolitan",
        look.at(flat_second),
        f"The second degree is lowered to {look.written(flat_second)}: the Neapolitan chord.",
    )


def _change_of_mode(look: _Look) -> Said | None:
    """A triad that turns from major to minor, or back, on one root."""
    before, chord = look.before, look.chord
    if before is None or before.root != chord.root:
        return None
    if {before.quality, chord.quality} != {"major", "minor"} or chord.numeral == "V(64)":
        return None
    third = look.tone(1)
    return (
        "change of mode",
        look.at(third),
        f"The {look.written(third)} turns {note_words(look.root)} {before.quality} into "
        f"{note_words(look.root)} {chord.quality}.",
    )


def _borrowed(look: _Look) -> Said | None:
    """A chord of the parallel key: all its notes are in that scale, not all in the key's own."""
    foreign = look.foreign()
    other = Key(look.key.tonic, not look.key.minor)
    if not foreign or not all(other.sounds(n.pitch.fifths) for n in look.notes):
        return None
    applied = "/" in look.chord.numeral
    if applied and look.chord.quality != "diminished-seventh":
        return None
    mode = "minor" if other.minor else "major"
    return (
        "borrowed",
        look.at(*foreign),
        f"The {_listed(map(note_words, foreign))} {'is' if len(foreign) == 1 else 'are'} borrowed from "
        f"{note_words(look.key.tonic)} {mode}.",
    )


def _diminished_seventh(look: _Look) -> Said | None:
    if look.chord.quality != "diminished-seventh":
        return None
    goal = look.root - 5
    seventh = look.tone(3)
    return (
        "diminished seventh",
        look.at(look.root, seventh),
        f"The {look.written(look.root)} leads up to {note_words(goal)} and the {look.written(seventh)} "
        f"leans down on it: a diminished seventh.",
    )


def _secondary_dominant(look: _Look) -> Said | None:
    numeral = look.chord.numeral
    if "/" not in numeral:
        return None
    leading = look.root if numeral.startswith("vii") else look.root + 4
    goal = leading - 5
    places = [leading] if not look.key.sounds(leading) else look.foreign()
    if not places:
        return None
    named = _listed(look.written(p) for p in places)
    if places == [leading]:
        words = f"The {named} is the leading note of {note_words(goal)}, outside the key."
    else:
        words = f"The {named} {'turns' if len(places) == 1 else 'turn'} the chord towards {note_words(goal)}."
    return "secondary dominant", look.at(*places), words


def _outside(look: _Look) -> Said | None:
    foreign = look.foreign()
    if not foreign:
        return None
    named = _listed(map(note_words, foreign))
    return (
        "outside the key",
        look.at(*foreign),
        f"The {named} {'is' if len(foreign) == 1 else 'are'} not in {look.span.name}.",
    )


def _augmented(look: _Look) -> Said | None:
    if look.chord.quality not in {"augmented", "augmented-seventh"}:
        return None
    fifth = look.tone(2)
    return (
        "augmented",
        look.at(fifth),
        f"The fifth is raised to {look.written(fifth)} and wants to go on up.",
    )


def _ninth(look: _Look) -> Said | None:
    if not look.chord.quality.endswith("-ninth"):
        return None
    ninth = look.tone(4)
    return "ninth", look.at(ninth), f"The {look.written(ninth)} is a ninth over {look.chord.root}."


def _seventh(look: _Look) -> Said | None:
    quality = QUALITIES[look.chord.quality]
    if not quality.seventh:
        return None
    seventh = look.tone(3)
    return (
        "seventh",
        look.at(seventh),
        f"The {look.written(seventh)} is the seventh over {note_words(look.root)}"
        + (" and wants to go down." if look.chord.quality in _DOMINANT_SEVENTHS else "."),
    )


def _suspended(look: _Look) -> Said | None:
    if not look.chord.quality.startswith("suspended"):
        return None
    tone = look.tone(1)
    return (
        "suspended",
        look.at(tone),
        f"The {look.written(tone)} stands where the third would be, and no third follows.",
    )


def _deceptive(look: _Look) -> Said | None:
    """The sixth degree where a dominant in root position leads the ear to the tonic."""
    before, chord = look.before, look.chord
    if before is None or before.key != chord.key or chord.inversion or before.inversion:
        return None
    sixth = look.key.tonic + (-4 if look.key.minor else 3)
    if fifths_of(before.root) != look.key.tonic + 1 or before.quality not in {
        "major",
        *_DOMINANT_SEVENTHS,
    }:
        return None
    if look.root not in {sixth, look.key.tonic - 4} or chord.quality not in {"major", "minor"}:
        return None
    low = min(look.notes, key=lambda n: n.midi, default=None)
    ids = (low.id,) if low is not None else ()
    return (
        "deceptive",
        ids,
        f"The bass goes to {note_words(look.root)} where the ear expects {note_words(look.key.tonic)}.",
    )


_RULES = (
    _augmented_sixth, _neapolitan, _change_of_mode, _borrowed, _diminished_seventh, _secondary_dominant,
    _deceptive, _outside, _augmented, _ninth, _seventh, _suspended,
)  # fmt: skip
