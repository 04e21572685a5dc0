"""Where an editor would print a finger: enough to make the rest follow, and no more."""

from __future__ import annotations

from collections.abc import Iterator

from passagework.hands.fingering import Fingering
from passagework.score.piece import Note, Piece, Side

BIG_CHORD = 3
"""Notes from which on a chord may be taken in several ways and is worth printing."""

SIDES: tuple[Side, ...] = ("left", "right")


def editorial(fingering: Fingering, piece: Piece) -> frozenset[str]:
    """Ids of the notes on which an edition would print `fingering`.

    They are the first notes of phrases, the notes on which the hand moves or passes, changes of finger
    on a key or on the same chord come back, and chords of three and more that are new.
    """
    chosen: set[str] = {p.note_id for p in fingering.passings}
    chosen |= {p.first_id for p in fingering.positions if p.entered != "passing"}
    starts = {s.first for s in piece.slurs}
    for side in SIDES:
        chosen |= _of_hand(piece, fingering, side, starts)
    chosen |= {i for i, fingers in fingering.fingers.items() if len(fingers) > 1}
    return frozenset(i for i in chosen if i in fingering.fingers)


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
