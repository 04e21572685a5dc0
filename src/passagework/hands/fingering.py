"""Fingering of a whole piece for one student's hands."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from types import MappingProxyType

from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.hands.hand import Hands
from passagework.hands.loudness import marked_loudness
from passagework.hands.positions import HandPosition, Passing, find_passings, find_positions
from passagework.hands.reasons import why_of
from passagework.hands.slices import MIRROR_SUM, Slice
from passagework.hands.solve import Demand, Solved, solve_side
from passagework.hands.warn import warnings_of
from passagework.score.piece import Piece, Side

BOTH: tuple[Side, ...] = ("left", "right")


@dataclass(frozen=True)
class Fingering:
    """Fingers for the notes of a piece. Note ids are those of `Piece.notes` (the first notehead's)."""

    fingers: Mapping[str, tuple[int, ...]]
    """The finger that strikes, then those it is changed for while the key is down."""
    why: Mapping[str, str] = field(default_factory=dict)
    """One plain sentence for every note where there is something to say."""
    passings: tuple[Passing, ...] = ()
    """Where the thumb passes under or a finger over it, in order of time."""
    positions: tuple[HandPosition, ...] = ()
    """Stretches of notes played without moving the hand, in order of time."""
    warnings: tuple[str, ...] = ()
    overruled: frozenset[str] = frozenset()
    """Notes whose printed finger was not kept: the hand cannot take it, or the teacher wants another."""
    sides: Mapping[str, Side] = field(default_factory=dict)
    """The hand of every note."""

    def side_of(self, note_id: str) -> Side:
        """The hand that plays a note; the right one for a note that is not fingered."""
        return self.sides.get(note_id, "right")


def finger_piece(
    piece: Piece,
    hands: Hands | None = None,
    *,
    fixed: Mapping[str, int | Sequence[int]] | None = None,
    respect_printed: bool = True,
    sides: Sequence[Side] = BOTH,
    loudness: Callable[[Fraction], float] | None = None,
    tempo: TempoMap | None = None,
) -> Fingering:
    """Finger every note of the hands in `sides`.

    `fixed` maps note ids (any notehead of a tied note) to the teacher's finger, or fingers where one
    is changed for another on the key; the rest is solved around them. Printed fingers are kept too
    where the hand can take them, unless `respect_printed` is False. `loudness` gives 0 (softest) to
    1 (loudest) at a position, `tempo` the speed; both are read from the page if left out.

    Raises `ValueError` for a fixed finger that is none or a note that is not in the piece.
    """
    hands = hands or Hands()
    demand = Demand(fixed_fingers(piece, fixed or {}), respect_printed)
    tempo = tempo or tempo_map(piece)
    loudness = loudness or marked_loudness(piece)
    solved = [solve_side(piece, s, hands.of(s), demand, tempo, loudness) for s in sides]
    return assemble(piece, solved, demand)


def assemble(piece: Piece, solved: Sequence[Solved], demand: Demand) -> Fingering:
    """The public fingering of the hands that were solved."""
    fingers: dict[str, tuple[int, ...]] = {}
    why: dict[str, str] = {}
    passings: list[Passing] = []
    positions: list[HandPosition] = []
    warnings: list[tuple[int, str]] = []
    for one in solved:
        own = read_fingers(one)
        own.update(
            (n.id, demand.fixed[n.id])
            for s in one.slices
            for n in s.thumbed
            if n.id in demand.fixed
        )
        fingers.update(own)
        found = find_passings(one)
        passings += found
        positions += find_positions(one)
        why.update(why_of(one, found, demand))
        warnings += warnings_of(piece, one, own)
    order = {n.id: i for i, n in enumerate(piece.notes)}
    overruled = {n.id for one in solved for s, w in one.refused for p in w for n in s.notes[p]}
    overruled |= {i for i, f in demand.fixed.items() if piece.by_id[i].fingers not in ((), f)}
    passings.sort(key=lambda p: order[p.note_id])
    positions.sort(key=lambda p: order[p.first_id])
    return Fingering(
        MappingProxyType(fingers),
        MappingProxyType(why),
        tuple(passings),
        tuple(positions),
        tuple(dict.fromkeys(text for _, text in sorted(warnings))),
        frozenset(i for i in overruled if i in fingers and piece.by_id[i].fingers),
        MappingProxyType({i: piece.by_id[i].hand for i in fingers}),
    )


def read_fingers(solved: Solved) -> dict[str, tuple[int, ...]]:
    """Fingers by note id: what strikes, and what takes over while the key is down."""
    fingers: dict[str, tuple[int, ...]] = {}
    for place, slice_ in enumerate(solved.slices):
        arrive, leave = solved.shape(place), solved.left(place)
        for notes, struck, first, last in zip(
            slice_.notes, slice_.struck, arrive, leave, strict=True
        ):
            for note in notes:
                row: tuple[int, ...] = (first, last) if first != last else (first,)
                if not struck and note.id in fingers:
                    row = _joined(fingers[note.id], row)
                fingers[note.id] = row
        for note in slice_.thumbed:
            fingers[note.id] = (_neighbour(slice_, arrive, note.midi, solved.side),)
    return fingers


def _joined(before: tuple[int, ...], after: tuple[int, ...]) -> tuple[int, ...]:
    return before + tuple(f for i, f in enumerate(after) if i or f != before[-1])


def _neighbour(slice_: Slice, shape: Sequence[int], midi: int, side: Side) -> int:
    key = midi if side == "right" else MIRROR_SUM - midi
    place = min(range(len(shape)), key=lambda i: (abs(slice_.keys[i] - key), i))
    return shape[place]


def fixed_fingers(
    piece: Piece, fixed: Mapping[str, int | Sequence[int]]
) -> dict[str, tuple[int, ...]]:
    found: dict[str, tuple[int, ...]] = {}
    for note_id, wanted in fixed.items():
        note = piece.by_id.get(note_id)
        if note is None:
            raise ValueError(f"there is no note {note_id!r} in this piece")
        row = (wanted,) if isinstance(wanted, int) else tuple(wanted)
        if not row or not all(isinstance(f, int) and 1 <= f <= 5 for f in row):
            raise ValueError("fingers are numbered 1 (thumb) to 5 (little finger)")
        found[note.id] = row
    return found
