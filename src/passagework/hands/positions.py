"""Where the hand lies still, and where it passes or moves to a new position."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from passagework.hands.hand import COMFORTABLE_SEMITONES
from passagework.hands.slices import MIRROR_SUM
from passagework.hands.solve import Solved
from passagework.hands.spans import span_semitones
from passagework.score.piece import Side

Way = Literal["thumb under", "finger over"]

FREE_GAP_SECONDS = 0.5
"""After a silence as long as this the hand is set down anew."""


@dataclass(frozen=True, slots=True)
class Passing:
    """The thumb passes under a finger, or a finger over the thumb, on the way to `note_id`."""

    note_id: str
    before_id: str
    side: Side
    way: Way
    finger: int
    """The finger that the thumb passes under, or that passes over it."""


@dataclass(frozen=True, slots=True)
class HandPosition:
    """Notes from `first_id` to `last_id` that one position of the hand takes."""

    first_id: str
    last_id: str
    side: Side
    lowest: int
    """MIDI number of the lowest key played in it."""
    highest: int
    entered: Literal["start", "passing", "shift", "leap"]
    """How the hand came there: passing, a small shift, or a leap that leaves the keys."""


def find_passings(solved: Solved) -> list[Passing]:
    """All thumb passings of one hand, in order."""
    found: list[Passing] = []
    for i in range(1, len(solved.slices)):
        one, two = solved.slices[i - 1], solved.slices[i]
        if sum(one.struck) != 1 or sum(two.struck) != 1 or two.gap > FREE_GAP_SECONDS:
            continue
        a, b = one.struck.index(True), two.struck.index(True)
        f, g = solved.left(i - 1)[a], solved.shape(i)[b]
        up = two.keys[b] - one.keys[a]
        if up == 0 or f == g or (g > f) == (up > 0) or 1 not in (f, g):
            continue
        found.append(
            Passing(
                two.notes[b][0].id,
                one.notes[a][0].id,
                solved.side,
                "thumb under" if g == 1 else "finger over",
                max(f, g),
            )
        )
    return found


def find_positions(solved: Solved) -> list[HandPosition]:
    """Positions of one hand: a new one begins where the fingers no longer fit what went before."""
    found: list[HandPosition] = []
    taken: dict[int, int] = {}
    start = 0
    entered: Literal["start", "passing", "shift", "leap"] = "start"
    passed = {p.note_id for p in find_passings(solved)}
    for i, slice_ in enumerate(solved.slices):
        shape = dict(zip(solved.shape(i), slice_.keys, strict=True))
        if i and (slice_.gap > FREE_GAP_SECONDS or not _fits(taken, shape)):
            found.append(_position(solved, start, i - 1, entered))
            entered = _way(solved, i, passed)
            start, taken = i, {}
        taken.update(shape)
        taken.update(zip(solved.left(i), slice_.keys, strict=True))
    if solved.slices:
        found.append(_position(solved, start, len(solved.slices) - 1, entered))
    return found


def _fits(taken: dict[int, int], shape: dict[int, int]) -> bool:
    for finger, key in shape.items():
        for other, was in taken.items():
            if other == finger:
                if was != key:
                    return False
            elif (finger > other) != (key > was) or key == was:
                return False
            else:
                pair = (min(finger, other), max(finger, other))
                if span_semitones(key, was) > COMFORTABLE_SEMITONES[pair]:
                    return False
    return True


def _way(
    solved: Solved, place: int, passed: set[str]
) -> Literal["start", "passing", "shift", "leap"]:
    now, before = solved.slices[place], solved.slices[place - 1]
    if any(n.id in passed for row in now.notes for n in row):
        return "passing"
    if now.sustained:
        return "shift"
    low = min(abs(k - b) for k in now.keys for b in before.keys)
    return "leap" if low > 7 else "shift"


def _position(
    solved: Solved, first: int, last: int, entered: Literal["start", "passing", "shift", "leap"]
) -> HandPosition:
    keys = [k for s in solved.slices[first : last + 1] for k in s.keys]
    low, high = min(keys), max(keys)
    if solved.side == "left":
        low, high = MIRROR_SUM - high, MIRROR_SUM - low
    return HandPosition(
        _struck_id(solved, first), _struck_id(solved, last), solved.side, low, high, entered
    )


def _struck_id(solved: Solved, place: int) -> str:
    slice_ = solved.slices[place]
    return slice_.notes[slice_.struck.index(True)][0].id
