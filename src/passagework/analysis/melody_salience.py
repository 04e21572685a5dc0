"""How much each note asks to be heard as tune, and as bass, before its neighbours are looked at.

Every feature is a comparison with what sounds at the same time or close by, so neither a
transposition nor a change of note values changes it.
"""

from __future__ import annotations

from dataclasses import dataclass

from passagework.analysis.melody_features import (
    HALF_A_FIGURE,
    figure_share,
    lesser_among,
    longness_of,
    only_lines,
    place_in_hand,
    rare_nearby,
    repeated_chords,
    top_shares,
    valleys,
)
from passagework.analysis.melody_slices import SILENT_LOW, Slices
from passagework.score.piece import Note, Piece

EXACT = 6
"""Decimals of a worth: the last bits of a logarithm must not decide between two lines."""


@dataclass(frozen=True, slots=True)
class Weights:
    """What each feature is worth, in the unit of the path's costs (see `melody_path`).

    The signs are the textbook's: the tune is on top, longer than its surroundings, on the outside of
    its hand, and not a figure that repeats (Huron, 2001; Uitdenbogerd and Zobel, 1998, on the highest line).
    The sizes were set on concert performances, where a tune is played louder (Goebl, 2001): see
    `bench/melody.py`, which prints how much louder the notes found are than those around them.
    """

    level: float = -0.4
    top: float = 1.25
    """Share of the note's time in which nothing sounds above it."""
    outside_of_hand: float = 0.3
    inside_of_hand: float = -1.2
    under: float = -0.4
    """Below notes of its hand that are struck with it and soon let go: an inner line."""
    lowest: float = -0.45
    longness: float = 0.18
    figure: float = -0.8
    only_line: float = 0.9
    """In a line of its own while all that the other hand strikes is figure or repeated chord."""
    repeated_chord: float = -0.6
    """In a chord that its hand has just struck or strikes again next."""
    valley: float = -0.6
    """Well below the hand's top notes both just before and just after: the filling of a figure."""
    small: float = -1.2
    """Printed small among notes of full size in the same hand."""
    marked: float = 1.0
    """With a sign that asks for it, times the share of notes of its hand nearby that have none."""
    unmarked: float = -0.25
    """Without a sign among notes of the same hand that have one."""
    singing_words: float = 0.5
    subject: float = 3.0
    taken: float = -2.0
    """For the bass: a note that is the tune's."""


TUNE = Weights()

BASS = Weights(
    level=-0.55, top=1.2, outside_of_hand=0.2, inside_of_hand=-0.9, valley=-0.5, lowest=-0.6, longness=0.3,
    figure=-0.2, small=-0.2,
    marked=0.0, unmarked=0.0, singing_words=0.0, subject=0.0, repeated_chord=0.0,
    only_line=0.0,
)  # fmt: skip
"""The same for the bass, on the mirrored slices: a bass repeats its notes and still is the bass."""

MARKS = frozenset({"tenuto", "accent", "strong-accent", "detached-legato"})
"""Signs on single notes that ask for them to be brought out."""

SINGING = (
    "cantando", "cantabile", "canto", "melodia", "marcato il", "marcata", "ben cantato", "sopra",
    "gesang", "singend", "hervor", "en dehors", "chant", "tema", "thema",
)  # fmt: skip
"""Parts of words that ask for one line to be brought out (Italian, German, French)."""


@dataclass(frozen=True, slots=True)
class Salience:
    """Per note index: the worth of a slice of it as tune; and the features that made it."""

    worth: list[float]
    top_share: list[float]
    longness: list[float]
    figure: list[float]
    inside: list[bool]
    """Whether its own hand strikes a note above and it is neither the top nor alone."""


def weigh_notes(
    piece: Piece, slices: Slices, subject: frozenset[int], weights: Weights = TUNE
) -> Salience:
    """Salience of every row of `slices.attacks`."""
    rows = slices.attacks
    top_share = top_shares(slices)
    figure = figure_share(slices)
    longness = longness_of(slices, figure)
    inside, under, outside = place_in_hand(slices)
    lows = [min((rows.pitch[i] for i in s), default=SILENT_LOW) for s in slices.sounding]
    valley = valleys(slices)
    again = repeated_chords(slices)
    follows = [f >= HALF_A_FIGURE or a for f, a in zip(figure, again, strict=True)]
    none = [False] * len(again)
    alone = only_lines(slices, follows) if weights.only_line else none
    small = lesser_among(slices, rows.small)
    bare = [not piece.notes[place].articulations & MARKS for place in rows.note]
    unmarked = lesser_among(slices, bare) if weights.unmarked else none
    singled = rare_nearby(slices, [not b for b in bare]) if weights.marked else [0.0] * len(again)
    sung = _sung_stretches(piece)
    worth: list[float] = []
    for i in range(len(rows.ids)):
        note = piece.notes[rows.note[i]]
        value = weights.level + weights.top * top_share[i]
        value += weights.longness * longness[i] + weights.figure * figure[i]
        if inside[i]:
            value += weights.inside_of_hand
        elif under[i]:
            value += weights.under
        elif outside[i]:
            value += weights.outside_of_hand
        if rows.pitch[i] == lows[rows.first[i]] and len(slices.sounding[rows.first[i]]) > 1:
            value += weights.lowest
        if alone[i]:
            value += weights.only_line
        if again[i]:
            value += weights.repeated_chord
        if valley[i]:
            value += weights.valley
        if small[i]:
            value += weights.small
        if unmarked[i]:
            value += weights.unmarked
        elif singled[i]:
            value += weights.marked * singled[i]
        if sung and _is_sung(note, sung) and not inside[i]:
            value += weights.singing_words
        if i in subject:
            value += weights.subject
        worth.append(round(value, EXACT))
    return Salience(worth, top_share, longness, figure, inside)


def _sung_stretches(piece: Piece) -> list[tuple[int, int, int]]:
    """(first bar, bar after the last, staff) that singing words govern: to the next words."""
    stretches: list[tuple[int, int, int]] = []
    for at, words in enumerate(piece.words):
        text = words.text.lower()
        if not any(part in text for part in SINGING):
            continue
        later = (w.bar for w in piece.words[at + 1 :] if w.bar > words.bar)
        stretches.append((words.bar, next(later, len(piece.bars)), words.staff))
    return stretches


def _is_sung(note: Note, stretches: list[tuple[int, int, int]]) -> bool:
    return any(a <= note.bar < b and note.staff == staff for a, b, staff in stretches)
