"""Octaves in succession, alone or with notes inside, and octaves broken into their two notes.

Conventions
-----------
* A run is at least `SHORTEST` attacks whose outer keys are an octave apart, evenly spaced, with no
  rest between. *Full chords* have a note inside in at least half of them. *Broken octaves* alternate
  between the two notes, at least `SHORTEST_BROKEN` of them; on the same two keys they are a tremolo and told there.
* What an octave costs depends on the hand: near the limit of the comfortable reach the hand cannot
  relax between two of them. Length counts, since fatigue grows with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from math import log2

from passagework.hands.keyboard import OCTAVE_MM
from passagework.score.piece import Side
from passagework.spots.context import Attack, Context
from passagework.spots.double_notes import _bars
from passagework.spots.kinds import Kind
from passagework.spots.runs import Run, even_runs, joined
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, Wording
from passagework.spots.words_of import (
    capital,
    centimetres,
    counted,
    decimal,
    hand_name,
    note_name,
    number,
    other_places,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    where,
)

OCTAVE = 12

FEW = 6
"""Members up to which a succession does not tire the arm."""

SHORTEST, SHORTEST_BROKEN = 3, 8

LENGTH_WEIGHT = 0.08
"""Share of the rate added for each doubling of the length beyond `SHORTEST`: fatigue."""

FULL, LEGATO, REPEATED = 1.2, 1.15, 0.9
"""Factors: notes inside to be struck as well; a slur over them; the same octave struck again, without
travel. Our judgement."""

BROKEN_SHARE = 0.5
"""Broken octaves are counted by single notes, two of which make an octave, and rotate the forearm."""

EASY_SHARE = 0.9
"""An octave below this share of the comfortable reach costs this hand nothing beyond the travel."""

ORDINARY, HARD = (0.7, 3.0), (1.5, 5.5)
"""Octaves per second, for first-year and concert pieces; studies in octaves ask for 6 to 9."""


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar of each succession."""
    sides: tuple[Side, Side] = ("left", "right")
    for side in sides:
        attacks = context.attacks[side]
        for run in even_runs(context, attacks, _is_octave, joined, SHORTEST):
            if len(run) >= SHORTEST:
                for row in _bars(run):
                    yield _candidate(context, run, row)
        for run in even_runs(context, attacks, _is_single, _alternates, SHORTEST_BROKEN):
            if _broken(run):
                for row in (r for r in _bars(run) if len({a.midis[0] for a in r}) > 2):
                    yield _candidate(context, run, row, broken=True)


def _is_octave(attack: Attack) -> bool:
    return attack.midis[-1] - attack.midis[0] == OCTAVE and not any(
        o.kind == "tremolo" for o in attack.low.ornaments
    )


def _is_single(attack: Attack) -> bool:
    return attack.midis[0] == attack.midis[-1]


def _alternates(one: Attack, other: Attack) -> bool:
    return joined(one, other) and abs(other.midis[0] - one.midis[0]) <= OCTAVE


def _broken(run: Run) -> bool:
    """Whether every second move of the run is an octave, always in the same direction."""
    for first in (0, 1):
        pairs = list(_pairs(run, first))
        if (
            len(pairs) >= SHORTEST_BROKEN // 2 - 1
            and len(set(pairs)) == 1
            and abs(pairs[0]) == OCTAVE
        ):
            return True
    return False


def _pairs(run: Run, first: int) -> Iterator[int]:
    rows = run.attacks[first:]
    for one, other in zip(rows[::2], rows[1::2], strict=False):
        yield other.midis[0] - one.midis[0]


def _candidate(
    context: Context, run: Run, row: tuple[Attack, ...], broken: bool = False
) -> Candidate:
    share = OCTAVE_MM / (context.hand.comfortable_mm * EASY_SHARE)
    hand_factor = max(1.0, share) ** 2
    first, last = row[0], row[-1]
    full = not broken and 2 * sum(len(set(a.midis)) > 2 for a in row) >= len(row)
    slurred = context.slurred(first.low.staff, first.onset, last.onset)
    repeated = len({a.midis[0] for a in row}) == 1 and not broken
    demand = run.rate * (1.0 + LENGTH_WEIGHT * log2(len(run) / SHORTEST)) * hand_factor
    demand *= (FULL if full else 1.0) * (LEGATO if slurred else 1.0)
    demand *= (REPEATED if repeated else 1.0) * (BROKEN_SHARE if broken else 1.0)
    level = context.level
    seconds = context.seconds(run.attacks[-1].onset) - context.seconds(run.attacks[0].onset)
    return Candidate(
        first.bar,
        last.bar,
        run.side,
        tuple(i for a in row for i in a.ids),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family="broken octaves" if broken else "full chords" if full else "octaves",
        numbers={"rate": run.rate, "octaves": len(row), "run": len(run), "seconds": seconds},
        facts={
            "touch": "legato" if slurred else "",
            "first": note_name(first.high.pitch),
            "last": note_name(last.high.pitch),
            "same": "yes" if repeated else "",
        },
    )


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the octaves of one hand."""
    worst = worst_first[0]
    at, bars, hand = start_of(worst, context), where(worst, context), hand_name(worst.hand)
    numbers, family, hand_size = worst.numbers, worst.family, context.hand
    amount, here = int(numbers["run"]), int(numbers["octaves"])
    unit = {"octaves": "octave", "full chords": "full chord", "broken octaves": "note"}[family]
    beyond = hand_size.largest_mm < OCTAVE_MM
    reason = (
        f"The {hand} has {counted(amount, unit)} {'of broken octaves ' if family == 'broken octaves' else ''}in succession, {'all' if here == amount else number(here)} of them in {bars}, "
        f"{decimal(numbers['rate'])} a second {tempo_basis(context, at)}"
    )
    reason += ", under a slur" if worst.facts["touch"] else ""
    reason += (
        f"; the succession goes on for {decimal(numbers['seconds'])} seconds"
        if amount > here
        else ""
    )
    reason += f". An octave is {centimetres(OCTAVE_MM)} wide and this hand is at ease up to {centimetres(hand_size.comfortable_mm)}"
    reason += ": it cannot reach it." if beyond else "."
    steps = [
        f"The thumb alone through {bars}, gliding close to the keys; then the little finger alone; then both.",
        f"In groups of {'three' if amount % 3 == 0 else 'two'} with a stop in which the hand closes, from {tempo_words(context, at, 0.5)} up.",
        "Shake the hand out after every time; stop at the first ache in the forearm, and play no more of it that day.",
    ]
    if family == "full chords":
        steps.insert(
            0,
            "The octave frame without its inside, then the inside alone, then the chord placed silently and struck.",
        )
    if family == "broken octaves":
        steps.insert(
            0,
            "The octaves struck together first; then broken, the forearm turning like a key in a lock and the fingers still.",
        )
    if beyond:
        steps.insert(
            0,
            "Leave out the note the bass or the tune can spare (ask your teacher which), and never stretch to reach an octave.",
        )
    return Wording(
        title=f"{capital(family)} in the {hand}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=_goes_wrong(worst, counted(amount, unit)),
        try_=(*steps[:3], steps[-1]) if len(steps) > 4 else tuple(steps),
        done_when=f"{capital(bars)} twice in a row at {tempo_words(context, at, 0.9)} without a wrong key, the forearm as loose after it as before.",
        evidence=(
            Evidence("rate", round(numbers["rate"], 1), "octaves/s" if family != "broken octaves" else "notes/s", tempo_source(context, at)),
            Evidence("members of the whole succession", amount),
            Evidence("width of an octave", round(OCTAVE_MM, 1), "mm"),
            Evidence("comfortable reach", round(hand_size.comfortable_mm), "mm", "Boyle, Boyle and Booker, 2015"),
        ),
    )  # fmt: skip


def _goes_wrong(worst: Candidate, how_many: str) -> str:
    facts = worst.facts
    text = (
        f"The hand stays open and stiff between the {how_many}"
        if worst.numbers["run"] <= FEW
        else f"The forearm hardens before the {how_many} are over"
    )
    if facts["same"]:
        return text + ", and the beat slows down."
    if facts["first"] == facts["last"]:
        return text + ", and the thumb brushes a wrong key."
    return (
        text
        + f", and on the way from {facts['first']} to {facts['last']} the thumb brushes a wrong key."
    )


KIND = Kind("octaves", "octaves", find, describe)
