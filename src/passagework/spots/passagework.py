"""Runs of fast, even single notes in one line.

Conventions
-----------
* A run is at least `SHORTEST` (in easy pieces `SHORTEST_EASY`) single notes of one voice, equally spaced, with no rest between and no
  key repeated; figures of only two keys are a tremolo or a trill and are told there.
* It is cut at the bar lines, so that each bar is judged by itself; the length of the whole run counts.
* Thumb passings are estimated from the notes, not from a fingering: a scale of n notes in one
  direction needs (n - 2) / 3.5 of them, rounded down (a hand has five fingers and passes after three
  and after four in turn), and a broken chord one for each further stretch of the hand's comfortable reach.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import log2

from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Position, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.runs import Run, by_bar, even_runs, joined
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    note_name,
    other_places,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    times,
    where,
)

SHORTEST, SHORTEST_EASY = 8, 5
"""Notes of the shortest run that is felt as one; in easy pieces (below `EASY_LEVEL`) five in a row,
a whole hand, are one."""

EASY_LEVEL = 0.45

STEP, SCALE_SHARE = 2, 0.6
"""Semitones of a step, and the share of steps (or of wider moves) that makes a scale (or a chord)."""

LARGEST_GROUP = 4
"""Notes of the largest group that is practised with a stop after it."""

PASSING_AFTER = 3.5
"""Notes from one thumb passing to the next in a scale, on average."""

LENGTH_WEIGHT, PASSING_WEIGHT, MOST_PASSINGS = 0.05, 0.06, 4
"""Share of the rate added for each doubling of the length beyond `SHORTEST`, and for each thumb
passing in a bar. Our judgement."""

PARALLEL, CONTRARY = 1.10, 1.15
"""Factors where both hands run together."""

TOGETHER_SHARE = 0.8
"""Share of a run's attacks that the other hand's run must share."""

IN_PLACE_SHARE = (1.0, 0.6)
"""A broken chord that stays under the hand is an accompaniment, learned as one grip; in first-year
pieces that is the whole task, in concert pieces a small one."""

ORDINARY, HARD = (1.6, 6.5), (3.0, 10.0)
"""Notes per second, for first-year and concert pieces. Trained pianists play even scales at up to
about 15 notes per second; studies ask for 10 to 12."""


@dataclass(frozen=True, slots=True)
class Stretch:
    """The part of a run that stands in one bar."""

    run: Run
    attacks: tuple[Attack, ...]
    ordinal: int

    @property
    def onsets(self) -> frozenset[Position]:
        """Where it strikes."""
        return frozenset(a.onset for a in self.attacks)


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar of each run; both hands together make one."""
    rows: dict[Side, list[Stretch]] = {"left": [], "right": []}
    taken: set[str] = set()
    shortest = SHORTEST_EASY if context.level.value < EASY_LEVEL else SHORTEST
    # The whole hand first: a tune and its figures may be written as two voices that take turns.
    lines = [*context.attacks.items(), *((key[0], row) for key, row in context.streams.items())]
    for side, attacks in lines:
        for run in even_runs(context, attacks, _single, _moves, shortest):
            ids = [a.low.id for a in run.attacks]
            if 2 * sum(i in taken for i in ids) < len(ids):
                taken.update(ids)
                rows[side] += _cut(run)
    strikes: dict[Side, dict[Position, Attack]] = {
        side: {a.onset: a for s in stretches for a in s.attacks} for side, stretches in rows.items()
    }
    for side in ("right", "left"):
        other: Side = "left" if side == "right" else "right"
        for stretch in rows[side]:
            if len({a.midis[0] for a in stretch.attacks[:-1]}) <= 2:  # the last is where it goes
                continue
            shared = [strikes[other][o] for o in sorted(stretch.onsets) if o in strikes[other]]
            together = len(shared) >= TOGETHER_SHARE * len(stretch.attacks)
            if together and side == "left":
                continue  # told with the right hand
            yield _candidate(context, stretch, shared if together else [])


def _single(attack: Attack) -> bool:
    return attack.midis[0] == attack.midis[-1] and not attack.low.ornaments


def _moves(one: Attack, other: Attack) -> bool:
    return one.midis[0] != other.midis[0] and joined(one, other)


def _cut(run: Run) -> list[Stretch]:
    """The bars of a run; a bar with fewer than half of `SHORTEST` notes goes with its neighbour."""
    rows = by_bar(run)
    merged: list[tuple[Attack, ...]] = []
    for row in rows:
        if merged and min(len(row), len(merged[-1])) < SHORTEST // 2:
            merged[-1] = (*merged[-1], *row)
        else:
            merged.append(row)
    return [Stretch(run, row, i) for i, row in enumerate(merged)]


def thumb_passings(midis: Sequence[int], reach_mm: float) -> int:
    """Thumb passings that a line of single notes needs at least, from its one-way stretches.

    `midis` are MIDI numbers in order; `reach_mm` is the width that a hand covers in place.
    """
    total, start = 0, 0
    for at in range(1, len(midis) + 1):
        turns = (
            at < len(midis)
            and at - start > 1
            and ((midis[at] - midis[at - 1]) * (midis[at - 1] - midis[at - 2]) < 0)
        )
        if at == len(midis) or turns:
            total += _passings_one_way(midis[start:at], reach_mm)
            start = at - 1
    return total


def _passings_one_way(midis: Sequence[int], reach_mm: float) -> int:
    if len(midis) < 3:
        return 0
    width = distance_mm(min(midis[0], midis[-1]), max(midis[0], midis[-1]))
    steps = sum(abs(b - a) <= STEP for a, b in pairwise(midis))
    if steps >= SCALE_SHARE * (len(midis) - 1):
        return max(int((len(midis) - 2) / PASSING_AFTER), 0)
    return int(width / reach_mm) if width > reach_mm else 0


def _family(midis: Sequence[int]) -> str:
    moves = [abs(b - a) for a, b in pairwise(midis)]
    steps = sum(m <= STEP for m in moves) / max(len(moves), 1)
    if steps >= SCALE_SHARE:
        return "scale"
    return "broken chords" if 1.0 - steps >= SCALE_SHARE else "figures"


def _candidate(context: Context, stretch: Stretch, other: Sequence[Attack]) -> Candidate:
    attacks, run = stretch.attacks, stretch.run
    midis = [a.midis[0] for a in attacks]
    passings = thumb_passings(midis, context.hand.comfortable_mm)
    family = _family([a.midis[0] for a in run.attacks])
    span = distance_mm(min(midis), max(midis))
    in_place = family != "scale" and span <= context.hand.comfortable_mm and not passings
    seconds = context.seconds(attacks[-1].onset) - context.seconds(attacks[0].onset)
    rate = (len(attacks) - 1) / seconds if seconds else run.rate
    demand = rate * (
        1.0
        + LENGTH_WEIGHT * log2(len(run) / SHORTEST)
        + PASSING_WEIGHT * min(passings, MOST_PASSINGS)
    )
    way = ""
    if other:
        way = _way(attacks, other)
        demand *= PARALLEL if way == "parallel" else CONTRARY
    level = context.level
    demand *= by_level(level, *IN_PLACE_SHARE) if in_place else 1.0
    low = min(attacks, key=lambda a: a.midis[0])
    high = max(attacks, key=lambda a: a.midis[0])
    return Candidate(
        attacks[0].bar,
        attacks[-1].bar,
        "both" if other else run.side,
        tuple(i for a in (*attacks, *other) for i in a.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=family,
        numbers={
            "rate": rate, "notes": len(attacks), "run": len(run), "passings": passings,
            "span": span, "in_place": float(in_place),
        },
        facts={
            "low": note_name(low.low.pitch),
            "high": note_name(high.low.pitch),
            "first": note_name(attacks[0].low.pitch),
            "last": note_name(attacks[-1].low.pitch),
            "way": way,
            "groups": _group(context, attacks),
        },
    )  # fmt: skip


def _way(attacks: Sequence[Attack], other: Sequence[Attack]) -> str:
    """Whether two hands move in the same direction most of the time."""
    theirs = {a.onset: a.midis[0] for a in other}
    shared = [(a.midis[0], theirs[a.onset]) for a in attacks if a.onset in theirs]
    products = [(b[0] - a[0]) * (b[1] - a[1]) for a, b in pairwise(shared)]
    return (
        "parallel" if sum(p > 0 for p in products) >= sum(p < 0 for p in products) else "contrary"
    )


def _group(context: Context, attacks: Sequence[Attack]) -> str:
    """Notes of the run to a beat, in figures; ``""`` where that is not whole."""
    if len(attacks) < 2:
        return ""
    step = attacks[1].onset - attacks[0].onset
    amount = context.bar(attacks[0].bar).time.beat / step if step else Fraction(0)
    if amount.denominator != 1 or amount < 2:
        return ""
    whole = int(amount)  # more than four are felt as twos, threes or fours
    return str(
        whole if whole <= LARGEST_GROUP else next((g for g in (4, 3, 2) if whole % g == 0), 4)
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the runs of one hand and sort."""
    worst = worst_first[0]
    at = start_of(worst, context)
    numbers, facts, bars = worst.numbers, worst.facts, where(worst, context)
    hand, passings = hand_name(worst.hand), int(numbers["passings"])
    who = "Both hands run" if worst.hand == "both" else f"The {hand} runs"
    reason = (
        f"{who} through {counted(int(numbers['notes']), 'even note')} in {bars}, between "
        f"{facts['low']} and {facts['high']}, {decimal(numbers['rate'])} a second {tempo_basis(context, at)}"
    )
    reason += f", in {facts['way']} motion" if facts["way"] else ""
    if passings:
        reason += f"; the line needs the thumb to pass about {times(passings)}."
    else:
        reason += "; it lies under the hand." if numbers["in_place"] else "."
    if numbers["run"] > numbers["notes"]:
        reason += f" The whole run has {int(numbers['run'])} notes without a breath."
    if passings:
        wrong = f"A bump or a wait where the thumb passes, and the notes after it are rushed to make up{'; the hands come apart there, since their thumbs pass at different notes' if facts['way'] else ''}."
    elif numbers["in_place"]:
        wrong = f"The same finger of the figure always comes out louder, and the wrist stiffens towards {facts['last']}."
    else:
        wrong = f"The fourth and fifth fingers hurry, and the turns of the line near {facts['high']} and {facts['low']} are smeared."
    return Wording(
        title=_title(worst),
        reason=reason + other_places(worst_first, context),
        goes_wrong=wrong,
        try_=_steps(worst, context),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.95)}, hands on the keys from the first note, and a listener with closed eyes cannot tell where the {'thumb passes' if passings else 'fingers change'}.",
        evidence=(
            Evidence("rate", round(numbers["rate"], 1), "notes/s", tempo_source(context, at)),
            Evidence("notes in the whole run", int(numbers["run"])),
            Evidence("thumb passings in these bars, at least", passings, "", "estimated from the range of the line"),
            Evidence("width of the line", round(numbers["span"]), "mm"),
        ),
    )  # fmt: skip


def _title(worst: Candidate) -> str:
    what = {"scale": "Running notes", "broken chords": "Broken chords", "figures": "Quick figures"}
    return f"{what[worst.family]} in {'both hands' if worst.hand == 'both' else 'the ' + hand_name(worst.hand)}"


def _steps(worst: Candidate, context: Context) -> tuple[str, ...]:
    at, facts, bars = start_of(worst, context), worst.facts, where(worst, context)
    group = facts["groups"] or "4"
    steps = []
    if worst.family == "broken chords":
        steps.append(
            f"Strike the notes of each figure in {bars} together as the chords they are made of, and learn the change from one grip to the next."
        )
    if worst.hand == "both":
        steps.append(
            f"Each hand alone at {tempo_words(context, at, 0.6)}, the left as surely as the right."
        )
    steps.append(
        f"In rhythms: long-short, then short-long, then groups of {group} with a stop on the first note of the next group, from {facts['first']} to {facts['last']}."
    )
    if worst.numbers["passings"]:
        steps.append(
            "Take the two notes on either side of each thumb passing, to and fro, until the thumb is under the hand before it is needed."
        )
    steps.append(
        f"As written from {tempo_words(context, at, 0.5)} up, a notch faster only after three clean times."
    )
    return tuple(steps[:4])


KIND = Kind("passagework", "running notes", find, describe)
