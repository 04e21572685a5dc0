"""Where an editor would print a finger: enough to make the rest follow, and no more."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from passagework.hands.fingering import Fingering
from passagework.score.piece import Note, Piece, Side

BIG_CHORD = 3
"""Notes from which on a chord may be taken in several ways and is worth printing."""

OCTAVE, FIFTH = 12, 7
"""Widths in semitones."""

USUAL_GRIPS = {(1, 3, 5), (1, 2, 5), (1, 2, 4), (1, 2, 3, 5), (1, 2, 4, 5)}
"""Fingers from the thumb outwards of chords in close position, which nobody needs to be told."""

SIDES: tuple[Side, ...] = ("left", "right")


def editorial(fingering: Fingering, piece: Piece) -> frozenset[str]:
    """Ids of the notes on which an edition would print `fingering`.

    They are the first notes of phrases, the notes on which the hand moves or passes, changes of finger
    on a key, and chords of three and more that are new. A bar that comes back with the same fingers is
    not numbered again, and what every player takes anyway (`_plain`) is not numbered at all.
    """
    chosen: set[str] = {p.note_id for p in fingering.passings}
    chosen |= {p.first_id for p in fingering.positions if p.entered != "passing"}
    starts = {s.first for s in piece.slurs}
    for side in SIDES:
        chosen |= _of_hand(piece, fingering, side, starts)
    chosen |= {i for i, fingers in fingering.fingers.items() if len(fingers) > 1}
    chosen -= _plain(piece, fingering) | _numbered_before(piece, fingering)
    return frozenset(i for i in chosen if i in fingering.fingers)


def _plain(piece: Piece, fingering: Fingering) -> set[str]:
    """Notes struck together that are taken by the outer fingers across an octave or more, or by the
    grip that every triad and every four-note chord within an octave has.
    """
    found: set[str] = set()
    for side in SIDES:
        for chord in _chords(piece, side):
            notes = sorted(chord, key=lambda n: n.midi, reverse=side == "left")
            taken = tuple(fingering.fingers.get(n.id, (0,))[0] for n in notes)
            width = abs(notes[-1].midi - notes[0].midi)
            octave = taken == (1, 5) and width >= OCTAVE
            grip = taken in USUAL_GRIPS and FIFTH <= width <= OCTAVE
            if octave or grip:
                found |= {n.id for n in chord}
    return found


def _numbered_before(piece: Piece, fingering: Fingering) -> set[str]:
    """Notes of bars that one hand has played before, note for note and finger for finger."""
    found: set[str] = set()
    seen: set[tuple[Side, frozenset[tuple[Fraction, int, int]]]] = set()
    for bar, notes in zip(piece.bars, piece.notes_of_bar, strict=True):
        for side in SIDES:
            own = [n for n in notes if n.hand == side and n.id in fingering.fingers]
            print_ = frozenset(
                (n.onset - bar.onset, n.midi, fingering.fingers[n.id][0]) for n in own
            )
            if not print_:
                continue
            if (side, print_) in seen:
                found |= {n.id for n in own}
            seen.add((side, print_))
    return found


def _of_hand(piece: Piece, fingering: Fingering, side: Side, starts: set[str]) -> set[str]:
    chosen: set[str] = set()
    last_chord: tuple[tuple[int, int], ...] = ()
    last_on_key: dict[int, int] = {}
    for chord in _chords(piece, side):
        taken = tuple(
            sorted((n.midi, fingering.fingers[n.id][0]) for n in chord if n.id in fingering.fingers)
        )
        if len(taken) >= BIG_CHORD and taken != last_chord:
            chosen |= {n.id for n in chord}
        for note in chord:
            finger = fingering.fingers.get(note.id, (0,))[0]
            repeated = note.midi in last_on_key
            if starts & set(note.ids) or (repeated and last_on_key[note.midi] != finger):
                chosen.add(note.id)
        if len(taken) >= BIG_CHORD:
            last_chord = taken
        last_on_key = dict(taken)
    return chosen


def _chords(piece: Piece, side: Side) -> Iterator[list[Note]]:
    chord: list[Note] = []
    for note in piece.of_hand(side):
        if chord and (note.onset != chord[0].onset or bool(note.grace) != bool(chord[0].grace)):
            yield chord
            chord = []
        chord.append(note)
    if chord:
        yield chord
