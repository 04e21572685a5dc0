"""Dotted rhythms: a long note and a short one in the proportion of three to one, or the other way round.

Conventions
-----------
* A line is one voice of one hand. The figure is two attacks in a row: the long one is three (or seven,
  doubly dotted) times as long as the short one, from attack to attack, and both together begin and end
  on a beat or on its half. The short one is less than a beat: a dotted minim and a crotchet are counted in beats
  and are no difficulty of rhythm. The short one may come first (a snap).
* The demand is one over the seconds of the short note, more where nobody strikes the beat that the dot
  passes over. What goes wrong: the short note is played too long, as in a triplet, for uneven intervals that are
  tapped or copied are drawn towards two to one (Fraisse, 1982).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from passagework.score.piece import Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    beat_name,
    capital,
    counted,
    hand_name,
    note_name,
    other_places,
    seconds,
    start_of,
    tempo_basis,
    tempo_words,
    value_name,
    where,
)

SOURCE = "uneven intervals are drawn towards two to one, Fraisse, 1982"

PROPORTIONS = (3, 7)
"""A dot, and two dots: how many times as long as the short note the long one is."""

ORDINARY, HARD = (1.2, 8.0), (2.8, 14.0)
"""Short notes per second of their own length, for first-year and concert pieces: the quaver after a dotted
crotchet in a moderate tempo must be learned in the first years, the semiquaver of a slow overture later."""

UNHEARD = 1.2
"""Factor where nothing is struck on the beat that the long note passes over."""

MORE_IN_A_BAR, MOST_MORE = 0.05, 3
"""Share added for each further figure of the bar."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One dotted figure."""

    first: Attack
    second: Attack
    short: float
    """Seconds of the short note, from attack to attack."""
    snap: bool
    """Whether the short one comes first."""
    heard: bool
    """Whether anything is struck on the beat inside the long note (or no beat lies in it)."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar and hand with dotted figures."""
    rows: dict[tuple[int, Side, str], list[Figure]] = defaultdict(list)
    struck = {a.tick for attacks in context.attacks.values() for a in attacks}
    for (side, _), attacks in context.streams.items():
        for first, second, end in _pairs(attacks):
            figure = _figure(context, first, second, end, struck)
            if figure is not None:
                rows[first.bar, side, "snap" if figure.snap else "dotted"].append(figure)
    for (bar, side, family), figures in sorted(rows.items()):
        yield _candidate(context, bar, side, family, figures)


def _pairs(attacks: Sequence[Attack]) -> Iterable[tuple[Attack, Attack, int]]:
    """Neighbouring attacks, and the tick at which the second gives way: to the next, or to a rest."""
    for at, (first, second) in enumerate(pairwise(attacks)):
        after = attacks[at + 2].tick if at + 2 < len(attacks) else second.release
        yield first, second, min(after, second.release) if after > second.release else after


def _figure(
    context: Context, first: Attack, second: Attack, end: int, struck: set[int]
) -> Figure | None:
    one, two = second.tick - first.tick, end - second.tick
    if one <= 0 or two <= 0 or first.release < second.tick:
        return None
    long, short = max(one, two), min(one, two)
    if long not in (p * short for p in PROPORTIONS):
        return None
    bar = context.bar(first.bar)
    beat = bar.time.beat * context.piece.ticks_per_quarter
    start = context.piece.ticks(bar.onset)
    if bar.pickup and bar.length < bar.time.length:
        start -= context.piece.ticks(bar.time.length - bar.length)
    half = beat / 2 if bar.time.beat.numerator % 3 else beat / 3
    if short >= beat or (first.tick - start) % half or (end - start) % half:
        return None
    snap = one < two
    onset = second.tick if snap else first.tick
    passed = start + ((onset - start) // beat + 1) * beat
    heard = passed >= onset + long or passed in struck
    position = first.onset if snap else second.onset
    length = (second.onset - first.onset) if snap else (second.onset - first.onset) * short / long
    time = context.seconds(position + length) - context.seconds(position)
    return Figure(first, second, time, snap, heard) if time > 0 else None


def _candidate(
    context: Context, bar: int, side: Side, family: str, figures: Sequence[Figure]
) -> Candidate:
    worst = min(figures, key=lambda f: (f.short / (1.0 if f.heard else UNHEARD), f.first.tick))
    demand = (1.0 if worst.heard else UNHEARD) / worst.short
    demand *= 1.0 + MORE_IN_A_BAR * min(len(figures) - 1, MOST_MORE)
    level = context.level
    short = worst.first if worst.snap else worst.second
    long = worst.second if worst.snap else worst.first
    ids = dict.fromkeys(i for f in figures for a in (f.first, f.second) for i in a.ids)
    return Candidate(
        bar,
        max(bar, *(f.second.bar for f in figures)),
        side,
        tuple(ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=family,
        numbers={
            "short_s": worst.short,
            "count": len(figures),
            "unheard": sum(not f.heard for f in figures),
            "long_quarters": float(long.high.value),
        },
        facts={
            "long": note_name(long.high.pitch),
            "short": note_name(short.high.pitch),
            "long_value": value_name(long.high.value),
            "short_value": value_name(short.high.value),
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the dotted figures of one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    facts, count = worst.facts, int(worst.numbers["count"])
    snap = worst.family == "snap"
    long, short = facts["long_value"] or "long note", facts["short_value"] or "short one"
    figure = f"a {short} and then a {long}" if snap else f"a {long} and then a {short}"
    unheard = int(worst.numbers["unheard"])
    often = f", {counted(count, 'time')} over" if count > 1 else ""
    reason = (
        f"In {bars} the {hand} plays {figure}{often}: "
        f"{facts['short']} lasts {seconds(worst.numbers['short_s'])} {tempo_basis(context, at)}"
    )
    reason += (
        f", and nothing is struck on the {beat_name(context, at)} that {facts['long']} is held over."
        if unheard
        else "."
    )
    equal = f"the long note of {facts['long']} struck again in equal {plural(short)}"
    return Wording(
        title="Short before long" if snap else "Dotted rhythm",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"{facts['short']} loses its accent and is played before the beat instead of on it."
            if snap
            else f"{facts['short']} comes too early and too long, so that the figure sounds like a triplet, or "
            f"{facts['long']} is not held to its end."
        ),
        try_=(
            f"Play {bars} with {equal}, counting them; then tie them in thought and play what is written.",
            f"Clap the rhythm of the {hand} in {bars} while you count aloud, the {short} said as well as played.",
            f"Play it from {facts['short']} into the note after it as one gesture, and wait on the long note; then join them at {tempo_words(context, at, 0.6)}."
            if not snap
            else f"Set {facts['short']} on the click of the metronome and let the hand bounce off to {facts['long']}, at {tempo_words(context, at, 0.6)}.",
        ),
        done_when=f"{capital(bars)} three times in a row at {tempo_words(context, at, 0.9)} while you count every {short} aloud, each note on its count.",
        evidence=(
            Evidence("length of the short note", round(worst.numbers["short_s"], 3), "s", SOURCE),
            Evidence("dotted figures in the bar", count),
            Evidence("beats passed over that nobody strikes", unheard),
        ),
    )  # fmt: skip


def plural(value: str) -> str:
    """The plural of a note value's name: ``"quavers"``; ``"short ones"``."""
    return f"{value}s"


KIND = Kind("dotted-rhythm", "dotted rhythms", find, describe, most=1, by_family=True)
