"""Chords and held notes beyond a hand, and the ways out that a teacher has: roll, share, leave out, pedal."""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.hands.hand import Hand, Hands
from passagework.hands.keyboard import distance_mm
from passagework.hands.slices import MIRROR_SUM, Slice, hand_slices
from passagework.hands.spans import reaches
from passagework.score.piece import Note, Piece, Side

Kind = Literal["roll", "share", "leave out", "pedal"]

ROLL_SECONDS_PER_NOTE = 0.06
"""Time that each note of a quickly rolled chord takes."""

SLOW_TRAVEL_MM_PER_SECOND = 600.0
"""Speed at which a hand still travels without haste: two octaves in half a second, about."""

OUTER_VOICE_COST = 3.0
"""Leaving out the top or the bass is heard by everyone."""

NO_DOUBLING_COST = 4.0
"""Leaving out a note that no other doubles changes the chord."""


@dataclass(frozen=True, slots=True)
class WayOut:
    """One thing that can be done about it. `cost` only ranks: 0 costs nothing, 4 is a real loss."""

    kind: Kind
    note_ids: tuple[str, ...]
    """The notes that are shared, left out or left to the pedal; all of them where the chord is rolled."""
    cost: float
    words: str


@dataclass(frozen=True, slots=True)
class Beyond:
    """Notes that one hand cannot have down together."""

    side: Side
    bar: int
    onset: Fraction
    note_ids: tuple[str, ...]
    """All the notes in question, the lowest first."""
    held_ids: tuple[str, ...]
    """Those of them that are held from before."""
    span_mm: float
    largest_mm: float
    ways: tuple[WayOut, ...]
    """The cheapest first."""


def beyond_reach(
    piece: Piece, hands: Hands, *, tempo: TempoMap | None = None
) -> tuple[Beyond, ...]:
    """Everything in `piece` that is beyond the student's hands, in order of time.

    A chord that is printed rolled counts only where two of its neighbours are out of reach.
    """
    tempo = tempo or tempo_map(piece)
    left = _part(piece, "left", hands.left, tempo)
    right = _part(piece, "right", hands.right, tempo)
    found = _judged(left, "left", hands.left, _Other(right, hands.right, "right"))
    found += _judged(right, "right", hands.right, _Other(left, hands.left, "left"))
    found.sort(key=lambda b: (b.onset, b.side))
    return tuple(found)


def _part(piece: Piece, side: Side, hand: Hand, tempo: TempoMap) -> list[Slice]:
    return hand_slices(piece, side, tempo, lambda _: 0.5, lambda keys: reaches(keys, hand))


def _judged(part: Sequence[Slice], side: Side, hand: Hand, other: _Other) -> list[Beyond]:
    judged = (_judge(slice_, side, hand, other) for slice_ in part)
    return [made for made in judged if made is not None]


def _judge(slice_: Slice, side: Side, hand: Hand, other: _Other) -> Beyond | None:
    """What is beyond `hand` in one slice, None if nothing is."""
    struck = [row[0] for row, s in zip(slice_.notes, slice_.struck, strict=True) if s]
    struck += slice_.thumbed
    held = list(slice_.let_go)
    if slice_.rolled and not held and _steps_fit(slice_.keys, hand):
        return None
    if not held and not slice_.thumbed and reaches(slice_.keys, hand):
        return None
    notes = sorted([*struck, *held], key=lambda n: n.midi)
    ways = sorted(_ways(notes, held, slice_, side, hand, other), key=lambda w: (w.cost, w.kind))
    return Beyond(
        side,
        struck[0].bar,
        struck[0].onset,
        tuple(n.id for n in notes),
        tuple(n.id for n in held),
        round(distance_mm(notes[0].midi, notes[-1].midi), 1),
        round(hand.largest_mm, 1),
        tuple(ways),
    )


def _steps_fit(keys: Sequence[int], hand: Hand) -> bool:
    return all(distance_mm(a, b) <= hand.largest_mm for a, b in itertools.pairwise(keys))


def _ways(
    notes: Sequence[Note],
    held: Sequence[Note],
    slice_: Slice,
    side: Side,
    hand: Hand,
    other: _Other,
) -> Iterator[WayOut]:
    if held:
        ids = tuple(n.id for n in held)
        yield WayOut(
            "pedal", ids, 1.0, f"Let go of {_names(held)} and let the pedal keep it; the pedal then "
            "may not change before that note ends.",
        )  # fmt: skip
    elif not slice_.thumbed and _steps_fit([n.midi for n in notes], hand):
        yield _roll(notes, slice_)
    yield from _shared(notes, slice_, side, hand, other)
    if not held:
        yield from _left_out(notes, slice_, side, hand, other)


def _roll(notes: Sequence[Note], slice_: Slice) -> WayOut:
    needed = ROLL_SECONDS_PER_NOTE * (len(notes) - 1)
    room = max(slice_.longest, 1e-3)
    cost = 0.5 + min(4.0, 4.0 * needed / room)
    words = (
        f"Roll it from the bottom: about {needed:.1f} s of the {room:.1f} s that it lasts. "
        "The top note comes late unless the roll begins early."
    )
    return WayOut("roll", tuple(n.id for n in notes), round(cost, 2), words)


def _shared(
    notes: Sequence[Note], slice_: Slice, side: Side, hand: Hand, other: _Other
) -> Iterator[WayOut]:
    """Give away notes on the other hand's side, as few as make the rest fit."""
    order = list(notes) if side == "right" else list(reversed(notes))
    for count in range(1, len(order)):
        given, kept = order[:count], order[count:]
        if not _fits(kept, side, hand):
            continue
        travel = other.travel(given, slice_)
        if travel is not None:
            way, seconds = travel
            cost = 0.5 * count + way / SLOW_TRAVEL_MM_PER_SECOND / max(seconds, 0.05)
            yield WayOut(
                "share",
                tuple(n.id for n in given),
                round(min(cost, 6.0), 2),
                f"Give {_names(given)} to the {other.side} hand, {_coming(way, seconds)}.",
            )
        return


def _coming(way: float, seconds: float) -> str:
    if way < 1.0:
        return "which is near enough"
    return f"which has {seconds:.1f} s to move {max(way / 10, 1):.0f} cm"


def _left_out(
    notes: Sequence[Note], slice_: Slice, side: Side, hand: Hand, other: _Other
) -> Iterator[WayOut]:
    """Single notes whose absence makes the chord fit, the doubled ones cheapest."""
    sounding = list(notes) + other.sounding(slice_)
    low, high = min(n.midi for n in sounding), max(n.midi for n in sounding)
    for note in notes:
        rest = [n for n in notes if n is not note]
        if not rest or not _fits(rest, side, hand):
            continue
        doubles = sum(n.midi % 12 == note.midi % 12 for n in sounding) - 1
        cost = 1.0 if doubles else NO_DOUBLING_COST
        place = ""
        if note.midi in (low, high):
            cost += OUTER_VOICE_COST
            place = "; it is the lowest note" if note.midi == low else "; it is the top note"
        doubled = "it is doubled" if doubles else "nothing else sounds it"
        yield WayOut("leave out", (note.id,), cost, f"Leave out {note.pitch}: {doubled}{place}.")


def _fits(notes: Sequence[Note], side: Side, hand: Hand) -> bool:
    return reaches(_keys(notes, side), hand)


def _keys(notes: Sequence[Note], side: Side) -> list[int]:
    return sorted({n.midi if side == "right" else MIRROR_SUM - n.midi for n in notes})


def _names(notes: Sequence[Note]) -> str:
    return " and ".join(str(n.pitch) for n in sorted(notes, key=lambda n: n.midi))


class _Other:
    """The other hand, asked whether it can help."""

    def __init__(self, part: list[Slice], hand: Hand, side: Side) -> None:
        self.part, self.hand, self.side = part, hand, side
        self._seconds = [s.seconds for s in part]

    def sounding(self, at: Slice) -> list[Note]:
        """Notes that this hand has down when `at` is struck."""
        place = bisect_left(self._seconds, at.seconds + 1e-6) - 1
        if place < 0:
            return []
        slice_ = self.part[place]
        now = abs(slice_.seconds - at.seconds) < 1e-6
        onset = at.notes[at.struck.index(True)][0].onset
        return [n for row in slice_.notes for n in row if now or n.end > onset]

    def travel(self, given: Sequence[Note], at: Slice) -> tuple[float, float] | None:
        """(millimetres, seconds) that this hand needs and has to take `given` too; None if it cannot."""
        down = self.sounding(at)
        if not _fits([*down, *given], self.side, self.hand):
            return None
        place = bisect_left(self._seconds, at.seconds - 1e-6)
        if place == 0:
            return 0.0, at.seconds
        before = self.part[place - 1]
        was = [n.midi for row in before.notes for n in row]
        way = min(distance_mm(n.midi, k) for n in given for k in was)
        return max(0.0, way - self.hand.largest_mm), at.seconds - before.seconds
