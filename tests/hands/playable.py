"""An independent look at whether a fingering can be played, from the notes and the fingers alone."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations

from passagework.hands.beyond import beyond_reach
from passagework.hands.fingering import Fingering
from passagework.hands.hand import Hands
from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Note, Piece, Side

DETACHED = {"staccato", "staccatissimo", "spiccato", "detached-legato"}


def problems(piece: Piece, fingering: Fingering, hands: Hands) -> list[str]:
    """What cannot be played, where no way out was offered; empty for a good fingering."""
    beyond = beyond_reach(piece, hands)
    excused = {(b.side, b.onset) for b in beyond}
    let_go = {i: b.onset for b in beyond for i in b.held_ids}
    found: list[str] = []
    for side in ("left", "right"):
        for onset, struck, held in attacks(piece, side):
            held = [n for n in held if let_go.get(n.id, onset + 1) > onset]
            where = f"{side} {onset} " + " ".join(
                f"{n.pitch}:{fingering.fingers.get(n.id)}" for n in [*struck, *held]
            )
            if (side, onset) in excused:
                continue
            found += [f"{what}: {where}" for what in wrong(struck, held, fingering, hands, side)]
    return found


def wrong(
    struck: list[Note], held: list[Note], fingering: Fingering, hands: Hands, side: Side
) -> Iterator[str]:
    hand = hands.of(side)
    sign = 1 if side == "right" else -1
    down = [(n, (fingering.fingers[n.id][0],)) for n in struck]
    down += [(n, fingering.fingers[n.id]) for n in held]
    for (a, f), (b, g) in combinations(down, 2):
        if a.midi == b.midi:
            continue
        order = sign * (1 if a.midi < b.midi else -1)
        fits = [(x, y) for x in f for y in g if x != y and (y > x) == (order > 0)]
        if not fits:
            yield "one finger for two keys, or fingers crossed"
        elif not any(
            distance_mm(a.midi, b.midi) <= hand.pair_largest_mm(x, y) + 1e-6 for x, y in fits
        ) and not any(n.arpeggio in ("up", "down") for n in struck):
            yield "beyond the span of two fingers"


def attacks(piece: Piece, side: Side) -> Iterator[tuple[Fraction, list[Note], list[Note]]]:
    """(onset, notes struck on the beat, notes of the hand still held from before)."""
    by_onset: dict[Fraction, list[Note]] = {}
    for note in piece.of_hand(side):
        if not note.grace:
            by_onset.setdefault(note.onset, []).append(note)
    active: list[Note] = []
    for onset, struck in by_onset.items():
        active = [n for n in active if release(n) > onset]
        keys = {n.midi for n in struck}
        yield onset, struck, [n for n in active if n.midi not in keys]
        active += struck


def release(note: Note) -> Fraction:
    return note.onset + note.duration / 2 if note.articulations & DETACHED else note.end
