"""The strokes of one pass as a player makes them: graces, ornaments, rolls and touch, before chance and faults of time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from passagework.listening.simulate.clock import Clock, Places
from passagework.listening.simulate.graces import Group, play_group, roll_chords
from passagework.listening.simulate.ornaments import play_sign, play_tremolo, sign_of, tremolo_of
from passagework.listening.simulate.strike import SHORTEST_S, Strike
from passagework.score.piece import Note, Piece, Position
from passagework.spots.context import Context


def notes_of(piece: Piece, bars: Sequence[int], stop: Position | None, hand: str) -> list[Note]:
    """The notes of a pass, in order."""
    return [
        note
        for index in bars
        for note in piece.notes_of_bar[index]
        if hand in ("both", note.hand) and (stop is None or index != bars[-1] or note.onset < stop)
    ]


def plain_strokes(
    notes: Sequence[Note],
    groups: Sequence[Group],
    hidden: dict[str, Position],
    places: Places,
    clock: Clock,
) -> list[Strike]:
    """One stroke for each note, as long as it is written; grace notes in their place."""
    found: list[Strike] = []
    delayed: dict[str, float] = {}
    for group in groups:
        strikes, delay = play_group(group, places, clock)
        found += strikes
        if delay and group.principal is not None:
            delayed[group.principal.id] = delay
    plain = [n for n in notes if not n.grace]
    at = np.array([places.at(n) for n in plain])
    onsets = clock.many(at)
    ends = clock.many(np.array([places.until(n) for n in plain]))
    for note, place, onset, end in zip(plain, at, onsets, ends, strict=True):
        if note.id in hidden:
            share = float(hidden[note.id] - note.onset) / float(note.duration)
            end = onset + share * (end - onset)
            if end - onset < SHORTEST_S:
                continue
        start = float(onset) + delayed.get(note.id, 0.0)
        found.append(
            Strike(note, float(place), start, max(float(end), start + SHORTEST_S), note.midi)
        )
    return found


def ornamented(
    context: Context,
    strikes: Sequence[Strike],
    hidden: dict[str, Position],
    rng: np.random.Generator,
) -> list[Strike]:
    """`strikes` with rolled chords opened, ornaments and tremolos played out; each note's release is kept."""
    roll_chords(strikes, rng)
    tops: dict[int, Strike] = {}
    signed = {s.note.chord for s in strikes if sign_of(s.note) and s.note.id not in hidden}
    for strike in strikes:
        if strike.note.chord in signed and not strike.note.grace:
            best = tops.get(strike.note.chord)
            if best is None or strike.pitch > best.pitch:
                tops[strike.note.chord] = strike
    signs = {s.note.chord: sign for s in strikes if (sign := sign_of(s.note))}
    found: list[Strike] = []
    for strike in strikes:
        tremolo = tremolo_of(strike.note)
        lasting = strike.end - strike.onset
        if tremolo is not None:
            whole = 2 * lasting if tremolo.role in {"start", "stop"} else lasting
            found += play_tremolo(strike, tremolo, whole)
        elif tops.get(strike.note.chord) is strike:
            found += play_sign(context, strike, signs[strike.note.chord])
        else:
            found.append(strike)
    return found
