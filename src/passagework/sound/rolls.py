"""Arpeggio signs: the notes of a chord one after the other, from the beat on.

A chord with a sign in each staff is rolled in both hands at once. Each note is held to the chord's end.
"""

from __future__ import annotations

from collections import defaultdict

from passagework.score.piece import Piece, Position
from passagework.sound.clock import Speed
from passagework.sound.ornaments import pace_factor

ROLL_STEP_S = 0.045
"""Seconds from note to note of a roll at the piece's own speed: a four-note chord opens in about 0.14 s, fast enough to be
heard as one chord and slow enough to be heard as rolled."""
ROLL_SHARE = 0.5
"""Share of the chord's shortest note in which the roll is over at the latest."""


def roll_delays(piece: Piece, speed: Speed, own: Speed) -> dict[str, float]:
    """Seconds after the beat at which each note of a rolled chord is struck, by the note's id."""
    rolled: dict[int, str] = {}
    for note in piece.notes:
        if note.arpeggio in {"up", "down"} and not note.grace:
            rolled[note.chord] = note.arpeggio
    chords: dict[tuple[Position, int, str], dict[str, int]] = defaultdict(dict)
    by_id = piece.by_id
    for note in piece.notes:
        way = rolled.get(note.chord)
        if way and not note.grace:
            chords[note.onset, note.staff, way][note.id] = note.midi
    delays: dict[str, float] = {}
    for (onset, _, way), pitches in chords.items():
        if len(pitches) < 2:
            continue
        end = min(by_id[i].end for i in pitches)
        lasting = speed.seconds(end) - speed.seconds(onset)
        factor = pace_factor(lasting, own.seconds(end) - own.seconds(onset))
        step = min(ROLL_STEP_S * factor, ROLL_SHARE * lasting / (len(pitches) - 1))
        order = sorted(pitches, key=lambda i: pitches[i], reverse=way == "down")
        delays |= {ident: k * step for k, ident in enumerate(order)}
    return _with_unisons(piece, delays)


def _with_unisons(piece: Piece, delays: dict[str, float]) -> dict[str, float]:
    """`delays`, and the same for a key that another voice strikes together with a rolled note."""
    if not delays:
        return delays
    by_id = piece.by_id
    keys = {(by_id[i].onset, by_id[i].midi): delay for i, delay in delays.items()}
    shared = {
        n.id: keys[n.onset, n.midi]
        for n in piece.notes
        if not n.grace and (n.onset, n.midi) in keys
    }
    return shared | delays
