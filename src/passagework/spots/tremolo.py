"""Tremolos: by their sign, on one note or between two, and written out.

Conventions
-----------
* A sign with s strokes repeats (or alternates) in notes of 1/2^s crotchets: one stroke is quavers, two
  semiquavers, three demisemiquavers. Three strokes or more are played as fast as is even, no faster
  than `UNMEASURED_RATE` being asked.
* Written out: at least `SHORTEST` attacks that go to and fro between the same two attacks, a minor
  third or more apart (closer is a trill), `SLOWEST` a second or faster.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import log2

from passagework.hands.keyboard import distance_mm
from passagework.score.piece import Note, Ornament
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    listed,
    note_name,
    number,
    other_places,
    seconds,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

UNMEASURED_RATE = 12.0
"""Notes per second of a tremolo that is only to shimmer: what a loose forearm gives."""

UNMEASURED_STROKES = 3
SHORTEST, SLOWEST, NARROWEST = 8, 6.0, 3

LENGTH_WEIGHT, LENGTH_S = 0.2, 1.0
"""Share of the rate added for each doubling of the length beyond `LENGTH_S` seconds: fatigue."""

WIDE_WEIGHT = 1.2
"""Factor where the two ends are farther apart than nine tenths of the comfortable reach."""

ORDINARY, HARD = (5.0, 11.0), (9.0, 16.0)
"""Notes per second, weighted by length, for first-year and concert pieces."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each tremolo."""
    for attacks in context.streams.values():
        yield from _signed(context, attacks)
        yield from _written(context, attacks)


def _sign(note: Note) -> Ornament | None:
    return next((o for o in note.ornaments if o.kind == "tremolo"), None)


def _signed(context: Context, attacks: Sequence[Attack]) -> Iterable[Candidate]:
    for at, attack in enumerate(attacks):
        sign = next((s for n in attack.notes if (s := _sign(n))), None)
        if sign is None or sign.role == "stop" or sign.strokes == 0:
            continue
        members = [attack]
        if sign.role == "start" and at + 1 < len(attacks):
            members.append(attacks[at + 1])
        end = max(n.end for a in members for n in a.notes)
        lasting = context.seconds(end) - context.seconds(attack.onset)
        value = Fraction(1, 2**sign.strokes)
        if lasting <= 0:
            continue
        rate = float((end - attack.onset) / value) / lasting
        measured = sign.strokes < UNMEASURED_STROKES and rate <= UNMEASURED_RATE
        rate = min(rate, UNMEASURED_RATE)
        facts = {"sign": str(sign.strokes), "measured": "yes" if measured else ""}
        yield _candidate(context, members, rate, lasting, facts)


def _written(context: Context, attacks: Sequence[Attack]) -> Iterable[Candidate]:
    start = 0
    for at in range(2, len(attacks) + 1):
        goes_on = at < len(attacks) and (
            attacks[at].midis == attacks[at - 2].midis
            and attacks[at].tick - attacks[at - 1].tick
            == attacks[at - 1].tick - attacks[at - 2].tick
        )
        if goes_on:
            continue
        row = attacks[start:at]
        start = at - 1
        if len(row) >= SHORTEST and _wide_enough(row[0], row[1]):
            lasting = context.seconds(row[-1].onset) - context.seconds(row[0].onset)
            rate = (len(row) - 1) / lasting if lasting else 0.0
            if rate >= SLOWEST:
                yield _candidate(context, row, rate, lasting, {"sign": "", "measured": "yes"})


def _wide_enough(one: Attack, other: Attack) -> bool:
    if set(one.midis) & set(other.midis):
        return False
    return abs(one.midis[0] - other.midis[0]) >= NARROWEST


def _candidate(
    context: Context,
    members: Sequence[Attack],
    rate: float,
    lasting: float,
    facts: dict[str, str],
) -> Candidate:
    first, second = members[0], members[1] if len(members) > 1 else members[0]
    notes = (*first.notes, *second.notes)
    mm = distance_mm(min(n.midi for n in notes), max(n.midi for n in notes))
    demand = rate * (1.0 + LENGTH_WEIGHT * max(log2(lasting / LENGTH_S), 0.0))
    demand *= WIDE_WEIGHT if mm > 0.9 * context.hand.comfortable_mm else 1.0
    level = context.level
    last = context.piece.bar_at(max(n.onset for a in members for n in a.notes)).index
    return Candidate(
        first.bar,
        last,
        first.side,
        tuple(i for a in members for i in a.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family="one" if len(members) == 1 else "two",
        numbers={"rate": rate, "seconds": lasting, "mm": mm, "count": rate * lasting},
        facts={
            **facts,
            "one": listed([note_name(n.pitch) for n in first.notes]),
            "other": listed([note_name(n.pitch) for n in second.notes]),
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the tremolos of one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    numbers, facts = worst.numbers, worst.facts
    between = worst.family == "two"
    what = f"between {facts['one']} and {facts['other']}" if between else f"on {facts['one']}"
    strokes = f" ({counted(int(facts['sign']), 'stroke')})" if facts["sign"] else ", written out"
    reason = (
        f"The {hand} has a tremolo {what}{strokes} in {bars}, for {seconds(numbers['seconds'])}"
    )
    if facts["measured"]:
        reason += f": {decimal(numbers['rate'])} notes a second {tempo_basis(context, at)}."
    else:
        reason += f". It is not to be counted; {decimal(numbers['rate'])} notes a second are enough {tempo_basis(context, at)}."
    group = "four" if numbers["count"] >= 8 else number(max(int(numbers["count"] // 2), 2))
    return Wording(
        title=f"Tremolo in the {hand}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"The forearm locks before the {seconds(numbers['seconds'])} are over, and the upper note drowns the lower."
            if between
            else f"{facts['one']} is hammered from the arm and some strokes do not speak."
        ),
        try_=(
            f"{capital(facts['one'])} and {facts['other']} together first, then to and fro slowly, the forearm turning and the fingers close to the keys."
            if between
            else f"Change fingers on {facts['one']}, light strokes close to the key.",
            f"In groups of {group} with a rest in which the arm hangs, the rests shorter each time.",
            f"Lean on the first note of every beat at {tempo_words(context, at, 0.7)}, the rest as soft as they will speak.",
            "Stop at the first tightness; a tremolo that is thinned out sounds better than one that hurts.",
        ),
        done_when=f"{capital(bars)} twice in a row at {tempo_words(context, at, 0.95)} for the full {seconds(numbers['seconds'])}, softer than the other hand, the forearm loose at the end.",
        evidence=(
            Evidence("rate", round(numbers["rate"], 1), "notes/s", tempo_source(context, at) if facts["measured"] else "not measured; what is enough to shimmer"),
            Evidence("length", round(numbers["seconds"], 2), "s"),
            Evidence("width", round(numbers["mm"]), "mm"),
        ),
    )  # fmt: skip


KIND = Kind("tremolo", "tremolo", find, describe)
