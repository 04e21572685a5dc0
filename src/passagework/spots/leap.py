"""A hand must travel far in little time.

Conventions
-----------
* The *distance* of a leap is how far the hand itself must move, not from note to note: what both
  attacks span together, less what the hand covers in place. The hand covers what it strikes, and at
  least what it covers open in place; so a bass note and the chord above it are nearer than their outer notes.
* The *time* is from the written release to the next attack, and from attack to attack where the notes
  join (or lie under one pedal); a detached note leaves the hand at least three quarters of that time.
* Difficulty is Fitts' index (1954): ID = log2(2 D / W) bits, with D the distance and W the width of
  the target key, and ID divided by the time is the rate in bits per second that is asked of the arm.
  Fitts measured 10 to 12 bits per second as the most that adults sustain when tapping.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log2

from passagework.hands.keyboard import WHITE_WIDTH_MM, is_black, key_mm
from passagework.score.piece import Position, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.shifts import FAMILY, describe_shifts, find_shifts
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    centimetres,
    counted,
    decimal,
    hand_name,
    listed,
    note_name,
    other_places,
    seconds,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

SOURCE = "ID = log2(2 D / W), Fitts, 1954"

BLACK_WIDTH_MM = 13.7
"""Width of a black key at its foot (keyboard makers' measure); its top is 9 to 10 mm wide."""

OPEN_SHARE = (0.55, 1.0)
"""What the hand covers in place as a share of its comfortable reach, in first-year and concert pieces:
a beginner's hand lies over five keys (about 94 mm), an advanced one turns over a hand held open."""

SHORTEST_LEAP_MM = (2 * WHITE_WIDTH_MM, 3 * WHITE_WIDTH_MM)
"""Below two (first-year pieces) or three white keys (concert pieces) the hand only opens or shifts."""

FREE_SHARE = 0.75
"""A detached note leaves the hand at least this share of the time to the next attack: it must be held
a little, whatever its dot says."""

MORE_KEYS, MOST_KEYS = 0.05, 3
"""Share of the rate added for each further key to be struck on arrival."""

LONGEST_S = 4.0
"""With more time than this the eyes can find the key and nothing is asked of the arm."""

SOFT = {"p": 1.1, "pp": 1.2, "ppp": 1.25, "pppp": 1.25}
"""Factor for landing softly, where a late arm cannot be covered by weight."""

OPPOSITE, TOGETHER = 1.25, 1.1
"""Factors when both hands leap at once, apart or in the same direction. Our judgement: the eyes can
follow one hand, and less so the farther the two goals lie apart."""

RETURN_SHARE = 0.85
"""A leap back to what the hand has just left is half remembered."""

ORDINARY, HARD = (2.0, 6.0), (6.0, 16.0)
"""Bits per second taken for granted, and to be practised, in first-year and concert pieces. Fitts'
limit of 10 to 12 lies between: it was measured for tapping to and fro, while a pianist's hand knows
the keyboard's octaves by touch and may leave early."""


@dataclass(frozen=True, slots=True)
class Travel:
    """A hand's way from one attack to the next."""

    start: Attack
    goal: Attack
    distance: float
    """Millimetres, positive to the right."""
    time: float
    """Seconds."""

    @property
    def target_mm(self) -> float:
        """Width of the narrowest key to be struck on arrival."""
        return BLACK_WIDTH_MM if any(is_black(n.midi) for n in self.goal.notes) else WHITE_WIDTH_MM

    @property
    def bits(self) -> float:
        """Fitts' index of difficulty."""
        return log2(2.0 * abs(self.distance) / self.target_mm)


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each leap of either hand, and for each new position in easy pieces."""
    yield from find_shifts(context)
    travels = {side: _travels(context, side) for side in ("left", "right")}
    goals = {side: {t.goal.onset: t for t in rows} for side, rows in travels.items()}
    for side, rows in travels.items():
        other = goals["left" if side == "right" else "right"]
        for before, travel in zip([None, *rows], rows, strict=False):
            yield _candidate(context, travel, other.get(travel.goal.onset), before)


def _travels(context: Context, side: Side) -> list[Travel]:
    """Leaps of one hand, in order."""
    covered, shortest = covered_mm(context), by_level(context.level, *SHORTEST_LEAP_MM)
    attacks = context.attacks[side]
    found: list[Travel] = []
    for start, goal in pairwise(attacks):
        distance = travel_mm(start, goal, covered)
        if abs(distance) < shortest:
            continue
        time = _time(context, start, goal.onset)
        if 0 < time <= LONGEST_S:
            found.append(Travel(start, goal, distance, time))
    return found


def covered_mm(context: Context) -> float:
    """What the hand covers without moving, in millimetres (`OPEN_SHARE`)."""
    return by_level(context.level, *OPEN_SHARE) * context.hand.comfortable_mm


def travel_mm(start: Attack, goal: Attack, covered_mm: float) -> float:
    """How far the hand must move from `start` to `goal`, in mm, positive to the right, 0 in place."""
    one = (key_mm(start.midis[0]), key_mm(start.midis[-1]))
    two = (key_mm(goal.midis[0]), key_mm(goal.midis[-1]))
    covered = max(covered_mm, one[1] - one[0], two[1] - two[0])
    together = max(one[1], two[1]) - min(one[0], two[0])
    direction = 1.0 if sum(two) >= sum(one) else -1.0
    return direction * max(together - covered, 0.0)


def _time(context: Context, start: Attack, goal: Position) -> float:
    release = max(n.end for n in start.notes)
    whole = context.seconds(goal) - context.seconds(start.onset)
    staccato = any("staccato" in n.articulations for n in start.notes)
    if release >= goal and not staccato:
        return whole
    if context.pedalled(start.onset, goal):
        return whole
    gap = context.seconds(goal) - context.seconds(release) if release < goal else 0.0
    return max(gap, FREE_SHARE * whole)


def _candidate(
    context: Context, travel: Travel, other: Travel | None, before: Travel | None
) -> Candidate:
    sign = context.dynamic_at(travel.goal.onset)
    demand = travel.bits / travel.time * SOFT.get(sign, 1.0)
    demand *= 1.0 + MORE_KEYS * min(len(travel.goal.notes) - 1, MOST_KEYS)
    both = ""
    if other is not None:
        both = "apart" if other.distance * travel.distance < 0 else "together"
        demand *= OPPOSITE if both == "apart" else TOGETHER
    back = (
        before is not None
        and before.goal is travel.start
        and before.start.ids
        and {n.midi for n in before.start.notes} == {n.midi for n in travel.goal.notes}
    )
    demand *= RETURN_SHARE if back else 1.0
    level = context.level
    start, goal = travel.start, travel.goal
    return Candidate(
        min(start.bar, goal.bar),
        max(start.bar, goal.bar),
        start.side,
        (*start.ids, *goal.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        numbers={
            "mm": abs(travel.distance),
            "seconds": travel.time,
            "bits": travel.bits,
            "rate": travel.bits / travel.time,
            "target": travel.target_mm,
            "onset": float(goal.onset),
        },
        facts={
            "from": _names(start),
            "to": _names(goal),
            "way": "up" if travel.distance > 0 else "down",
            "both": both,
            "sign": sign if sign in SOFT else "",
            "black": listed(
                list(dict.fromkeys(note_name(n.pitch) for n in goal.notes if is_black(n.midi)))
            ),
        },
    )


def _names(attack: Attack) -> str:
    """Up to two notes by name, of larger chords the outer ones."""
    names = list(dict.fromkeys(note_name(n.pitch) for n in attack.notes))
    if len(names) <= 2:
        return listed(names)
    return f"the chord {note_name(attack.low.pitch)} to {note_name(attack.high.pitch)}"


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the leaps of one hand."""
    worst = worst_first[0]
    if worst.family == FAMILY:
        return describe_shifts(worst_first, context)
    at = start_of(worst, context)
    facts, numbers = worst.facts, worst.numbers
    bars, hand = where(worst, context), hand_name(worst.hand)
    reason = (
        f"The {hand} goes from {facts['from']} {facts['way']} to {facts['to']} in {bars}: the hand itself "
        f"moves {centimetres(numbers['mm'])} in {seconds(numbers['seconds'])} {tempo_basis(context, at)}"
    )
    reason += f", with {facts['black']} as a narrow target" if facts["black"] else ""
    reason += f", and lands in {facts['sign']}" if facts["sign"] else ""
    reason += (
        ". "
        if not facts["both"]
        else f"; the other hand leaps at the same moment {_both(facts['both'])}. "
    )
    if len(worst_first) > 1:
        reason += f"There are {counted(len(worst_first), 'such leap')} here in all."
    wrong = (
        f"The hand arrives late, and {facts['to']} "
        if numbers["rate"] >= by_level(context.level, *HARD)
        else f"The landing is guessed at, and {facts['to']} "
    )
    wrong += (
        "will sound too loud or not at all." if facts["sign"] else "will be hit hard or missed."
    )
    steps = [
        f"Play {facts['from']}, go to {facts['to']} at once without striking, and wait there: the hand should stand on the keys well before it plays.",
        f"Then strike as well, stopping before the leap as long as you need; make the stop shorter each time, from {tempo_words(context, at, 0.5)}.",
    ]
    if facts["both"]:
        steps.insert(
            1,
            "Find out which hand your eyes must follow, learn the other without looking, then put both together.",
        )
    else:
        steps.append(
            f"Close your eyes and find {facts['to']} from {facts['from']} by the feel of the black keys, five times."
        )
    if facts["sign"]:
        steps.append(
            f"Land first in mf, then in {facts['sign']}, with the finger touching the key before it sinks."
        )
    return Wording(
        title=f"Leap {facts['way']} in the {hand}" if len(worst_first) == 1 else f"Leaps in the {hand}",
        reason=(reason.strip() + other_places(worst_first, context)),
        goes_wrong=wrong,
        try_=tuple(steps[:4]),
        done_when=f"{capital(bars)} five times in a row at {tempo_words(context, at, 0.9)}, both ends of the leap clean and in time.",
        evidence=(
            Evidence("distance the hand moves", round(numbers["mm"]), "mm", f"what the hand covers in place: {decimal(covered_mm(context), 0)} mm"),
            Evidence("time", round(numbers["seconds"], 2), "s", tempo_source(context, at)),
            Evidence("index of difficulty", round(numbers["bits"], 2), "bits", SOURCE),
            Evidence("rate", round(numbers["rate"], 1), "bits/s", "10 to 12 are the most that tapping adults sustain, Fitts, 1954"),
        ),
    )  # fmt: skip


def _both(way: str) -> str:
    return "the other way" if way == "apart" else "in the same direction"


KIND = Kind("leap", "leaps", find, describe, most=2)
