"""Changes of hand position in first-year music: a family of leaps.

A beginner's hand lies over five neighbouring white keys. Where the line leaves them the whole hand
moves, however small the distance, and the new place must be found before the note is due. Positions
are laid out so that the hand stays as long as everything it plays fits under five keys (a few more where the
level is higher), which makes the fewest moves; each move is put where there is most time for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.score.piece import Note, Side
from passagework.spots.context import Attack, Context
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    note_name,
    other_places,
    seconds,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

FAMILY = "new position"

FIVE_KEYS = 4
"""Steps of the staff between the outer fingers of a hand that lies over five keys."""

WIDER_BY_LEVEL = 10.0
"""Steps by which the hand opens from the lowest to the highest level: a sixth in the second year, an
octave at the end of the elementary pieces."""

HIGHEST_LEVEL = 0.4
"""Level beyond which pieces no longer keep to positions of five keys."""

ORDINARY, HARD = (0.5, 1.2), (1.4, 3.5)
"""Moves per second of the time from attack to attack, for first-year pieces and (by the same line)
concert pieces: a beginner takes some two seconds to look down, move, and look up again."""

FARTHEST = 9
"""Steps beyond which a move is a leap of the arm, and told as one."""

QUICKEST_S = 0.35
"""In less time than this, inside a figure, a hand does not take a new place: it opens for one note."""

BOTH_WEIGHT = 1.3
"""Factor where the other hand strikes meanwhile."""

NEAR, STEP_WEIGHT = 0.5, 0.1
"""A move weighs half, and a tenth for each white key of its distance: five keys make one."""


def find_shifts(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each change of position of either hand, in easy pieces."""
    if context.level.value > HIGHEST_LEVEL:
        return
    sides: tuple[Side, Side] = ("left", "right")
    for side in sides:
        attacks = context.attacks[side]
        for at in _moves(context, attacks):
            if _time(context, attacks[at - 1], attacks[at]) < QUICKEST_S:
                continue
            found = _candidate(context, attacks, at)
            if found.numbers["steps"] <= FARTHEST:
                yield found


def _moves(context: Context, attacks: Sequence[Attack]) -> list[int]:
    """Indices of the attacks before which the hand moves: as few as possible, each one where there is
    most time.
    """
    width = FIVE_KEYS + int(context.level.value * WIDER_BY_LEVEL)
    moves: list[int] = []
    start, low, high = 0, 0, 0
    for at, attack in enumerate(attacks):
        down, up = _lowest(attack), _highest(attack)
        if at == start:
            low, high = down, up
            continue
        if max(high, up) - min(low, down) <= width:
            low, high = min(low, down), max(high, up)
            continue
        first = at  # the new position may begin earlier, where its notes still fit
        low, high = down, up
        while first - 1 > start:
            down, up = _lowest(attacks[first - 1]), _highest(attacks[first - 1])
            if max(high, up) - min(low, down) > width:
                break
            low, high, first = min(low, down), max(high, up), first - 1
        best = max(
            range(first, at + 1),
            key=lambda i: (
                _time(context, attacks[i - 1], attacks[i]),
                _far(attacks[i - 1], attacks[i]),
                i,
            ),
        )
        moves.append(best)
        start = best
        rows = attacks[best : at + 1]
        low, high = min(map(_lowest, rows)), max(map(_highest, rows))
    return moves


def _time(context: Context, last: Attack, first: Attack) -> float:
    """Seconds to move, from one attack to the next."""
    return context.seconds(first.onset) - context.seconds(last.onset)


def _far(one: Attack, other: Attack) -> int:
    return abs(_highest(one) + _lowest(one) - _highest(other) - _lowest(other))


def _lowest(attack: Attack) -> int:
    return min(n.pitch.diatonic for n in attack.notes)


def _highest(attack: Attack) -> int:
    return max(n.pitch.diatonic for n in attack.notes)


def _candidate(context: Context, attacks: Sequence[Attack], at: int) -> Candidate:
    last, first = attacks[at - 1], attacks[at]
    up = _highest(first) + _lowest(first) >= _highest(last) + _lowest(last)
    steps = abs(_highest(first) - _highest(last)) if up else abs(_lowest(last) - _lowest(first))
    release = min(max(n.end for n in last.notes), first.onset)
    rest = context.seconds(first.onset) - context.seconds(release)
    time = _time(context, last, first)
    other: Side = "left" if first.side == "right" else "right"
    busy = len(context.attacks_between(other, last.onset, first.onset))
    demand = 1.0 / time if time > 0 else 0.0
    demand *= (NEAR + STEP_WEIGHT * max(steps, 1)) * (BOTH_WEIGHT if busy else 1.0)
    level = context.level
    goal: Note = first.high if up else first.low
    leaving: Note = last.high
    return Candidate(
        min(last.bar, first.bar),
        first.bar,
        first.side,
        (*last.ids, *first.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=FAMILY,
        numbers={"seconds": time, "steps": max(steps, 1), "rest": rest, "busy": busy},
        facts={
            "from": note_name(leaving.pitch),
            "to": note_name(goal.pitch),
            "way": "up" if up else "down",
            "finger": _printed(goal),
        },
    )


def _printed(note: Note) -> str:
    names = {1: "the thumb", 2: "the second finger", 3: "the third finger",
             4: "the fourth finger", 5: "the little finger"}  # fmt: skip
    return names.get(note.fingers[0], "") if note.fingers else ""


def describe_shifts(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the changes of position of one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    numbers, facts = worst.numbers, worst.facts
    finger = facts["finger"]
    reason = (
        f"In {bars} the {hand} leaves the keys it lies on: after {facts['from']} it moves {facts['way']} to "
        f"{facts['to']}, {counted(int(numbers['steps']), 'key')} away, with "
        f"{seconds(numbers['seconds'])} to get there {tempo_basis(context, at)}"
    )
    reason += f", in a rest of {decimal(numbers['rest'])} seconds" if numbers["rest"] > 0 else ""
    reason += "; the other hand plays meanwhile." if numbers["busy"] else "."
    reason += f" {capital(finger)} is printed on {facts['to']}." if finger else ""
    return Wording(
        title=f"A new place for the {hand}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=f"The music waits while the eyes look for {facts['to']}, or the hand keeps its place and plays the wrong key.",
        try_=(
            f"Play {facts['from']}, lift, and set {finger or 'the finger'} silently on {facts['to']}: five times with open eyes, five times with closed ones.",
            f"Say the new place aloud one beat before it comes: the hand goes to {facts['to']} as soon as {facts['from']} may be let go.",
            f"{capital(bars)} with a stop before {facts['to']}, the stop made shorter each time, from {tempo_words(context, at, 0.6)}.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)} without a wait before {facts['to']}.",
        evidence=(
            Evidence("white keys from the last note to the next", int(numbers["steps"])),
            Evidence("time to move", round(numbers["seconds"], 2), "s", tempo_source(context, at)),
            Evidence("attacks of the other hand meanwhile", int(numbers["busy"])),
        ),
    )  # fmt: skip
