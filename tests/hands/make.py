"""Small pieces made for tests, without a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from passagework.score.piece import Bar, Metronome, Note, Piece, Pitch, Side, TimeSignature

SHARP = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
FLAT = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")

Event = tuple[Fraction, Fraction, Sequence[int]]
"""Onset, duration, and the MIDI numbers struck."""


def pitch(midi: int, flat: bool = False) -> Pitch:
    name = (FLAT if flat else SHARP)[midi % 12]
    alter = {"": 0, "#": 1, "b": -1}[name[1:]]
    return Pitch(name[0], alter, midi // 12 - 1)


def piece_of(
    events: dict[Side, Sequence[Event]], *, tempo: float = 100.0, flat: bool = False
) -> Piece:
    notes: list[Note] = []
    count = 0
    for side, row in events.items():
        for chord, (onset, duration, keys) in enumerate(row):
            for key in sorted(keys):
                count += 1
                notes.append(
                    Note(
                        id=f"n{count}",
                        bar=int(onset // 4),
                        onset=onset,
                        duration=duration,
                        pitch=pitch(key, flat),
                        staff=1 if side == "right" else 2,
                        voice="1" if side == "right" else "5",
                        hand=side,
                        chord=chord + (0 if side == "right" else 100_000),
                    )
                )
    notes.sort(key=lambda n: (n.onset, n.midi))
    end = max((n.end for n in notes), default=Fraction(4))
    bars = tuple(
        Bar(i, str(i + 1), Fraction(4 * i), Fraction(4), TimeSignature((4,), 4), 0)
        for i in range(max(1, -(-int(end.__ceil__()) // 4)))
    )
    mark = Metronome("d1", Fraction(0), 0, Fraction(1), tempo)
    return Piece("", "", bars, tuple(notes), metronomes=(mark,))


def line(
    keys: Sequence[int], side: Side = "right", *, value: Fraction = Fraction(1, 4), **words: object
) -> Piece:
    """A single line in equal notes."""
    events = [(i * value, value, (k,)) for i, k in enumerate(keys)]
    return piece_of({side: events}, **words)  # type: ignore[arg-type]


def mirrored(piece: Piece) -> Piece:
    """The piece seen in a mirror at D4: hands and pitches change places."""
    notes = [
        replace(
            n,
            pitch=pitch(124 - n.midi),
            hand="left" if n.hand == "right" else "right",
            staff=3 - n.staff if n.staff < 3 else n.staff,
        )
        for n in piece.notes
    ]
    rank = {n.id: i for i, n in enumerate(piece.notes)}
    notes.sort(key=lambda n: (n.onset, not n.grace, rank[n.id]))
    return replace(piece, notes=tuple(notes))
