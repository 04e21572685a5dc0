"""Two lines divide the same span of time into numbers neither of which divides the other.

Conventions
-----------
* A *span* is half a beat, a beat, two beats or a bar; the smallest one in which the two numbers clash
  is taken, so that six against four is told as three against two, twice.
* A line's *number* in a span is the smallest n such that all its attacks fall on n equal parts. Half
  of the parts must be struck (all of them in a span longer than a beat): a lone dotted figure in a
  long span is not a division.
* Lines are the voices of the notation, in one hand or in two. Grace notes and tremolos are left out.

Why it is hard: Deutsch (1983) finds that two even lines tapped in parallel become less accurate the
more complex the pattern is that both make together; here its attacks are counted, and their rate.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import gcd

from passagework.score.piece import Bar, Side
from passagework.spots.context import Attack, Context
from passagework.spots.kinds import Kind
from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.spot import Candidate, Evidence, SpotHand, Wording
from passagework.spots.words_of import (
    capital,
    counted,
    decimal,
    hand_name,
    listed,
    number,
    other_places,
    start_of,
    tempo_basis,
    tempo_source,
    tempo_words,
    times,
    where,
)

SOURCE = "attacks of both lines together; Deutsch, 1983"

LARGEST_NUMBER = 32
"""Parts of a span beyond which a group is played freely rather than measured."""

STRUCK_SHARE = 0.5
"""Share of the parts of a beat that must be struck for a line to be felt in that number."""

RATE_WEIGHT = 1.0 / 3.0
"""Attacks of the composite in a span, plus a third of their rate per second, is the demand: three
against two at a comfortable 6 a second weighs like a four against three that is counted slowly."""

RUN_WEIGHT, LONGEST_RUN = 0.25, 6
"""Added for each further span in the same bar: the second meeting gives no time to recover."""

DOTTED_SHARE = 0.7
"""A dotted figure against triplets is often played together with them by convention (and always
worth a decision), so that it weighs less than equal groups."""

ORDINARY, HARD = (1.8, 4.2), (3.4, 7.0)
"""Demand that is taken for granted, and that must be practised, in first-year and concert pieces."""


@dataclass(frozen=True, slots=True)
class Line:
    """One voice in one bar: ticks of onset and end, and the attack, in order."""

    side: Side
    rows: tuple[tuple[int, int, Attack], ...]


@dataclass(frozen=True, slots=True)
class Division:
    """A line inside a span: its number, the parts that are struck, and the attacks."""

    side: Side
    parts: int
    struck: tuple[int, ...]
    attacks: tuple[Attack, ...]

    @property
    def dotted(self) -> bool:
        """A dotted figure: of four parts only the first and the last, or the last alone."""
        return self.parts == 4 and set(self.struck) <= {0, 3}


@dataclass(frozen=True, slots=True)
class Clash:
    """Two divisions of one span, the larger number first."""

    start: int
    length: int
    more: Division
    fewer: Division

    @property
    def ratio(self) -> tuple[int, int]:
        """The numbers in lowest terms."""
        shared = gcd(self.more.parts, self.fewer.parts)
        return self.more.parts // shared, self.fewer.parts // shared

    @property
    def hand(self) -> SpotHand:
        """The hand that has both, or ``"both"``."""
        return self.more.side if self.more.side == self.fewer.side else "both"

    @property
    def composite(self) -> list[Fraction]:
        """Attacks of both together, as parts of the span."""
        pairs = ((d.parts, k) for d in (self.more, self.fewer) for k in d.struck)
        return sorted({Fraction(k, parts) for parts, k in pairs})


def find(context: Context) -> Iterable[Candidate]:
    """Yield a candidate for each bar, ratio and hand."""
    lines = _lines_by_bar(context)
    for bar in context.piece.bars:
        if len(lines[bar.index]) < 2:
            continue
        groups: dict[tuple[tuple[int, int], SpotHand], list[Clash]] = defaultdict(list)
        for clash in _clashes(context, bar, lines[bar.index]):
            groups[clash.ratio, clash.hand].append(clash)
        for clashes in groups.values():
            yield _candidate(context, bar, clashes)


def clashes_by_bar(context: Context) -> dict[int, list[Clash]]:
    """The clashes of every bar that has some, by its index, in order of place. Linear in the notes."""
    rows = {
        bar.index: sorted(_clashes(context, bar, lines), key=lambda c: c.start)
        for bar, lines in zip(context.piece.bars, _lines_by_bar(context), strict=True)
        if len(lines) >= 2
    }
    return {index: row for index, row in rows.items() if row}


def clashes_of_bar(context: Context, index: int) -> list[Clash]:
    """The clashes of the bar of that index, in order of place: for whoever makes an exercise of one."""
    bar = context.piece.bars[index]
    lines = _lines_by_bar(context)[index]
    return sorted(_clashes(context, bar, lines), key=lambda c: c.start)


def _lines_by_bar(context: Context) -> list[list[Line]]:
    rows: list[dict[tuple[Side, str], list[tuple[int, int, Attack]]]] = [
        defaultdict(list) for _ in context.piece.bars
    ]
    for key, attacks in context.streams.items():
        for attack in attacks:
            if any(o.kind == "tremolo" for o in attack.notes[0].ornaments):
                continue
            rows[attack.bar][key].append((attack.tick, attack.release, attack))
    return [[Line(side, tuple(row)) for (side, _), row in bar.items()] for bar in rows]


def _clashes(context: Context, bar: Bar, lines: Sequence[Line]) -> list[Clash]:
    """Clashes of one bar, the smallest spans first, each moment told once."""
    ticks = context.piece.ticks
    start, end, beat = ticks(bar.onset), ticks(bar.end), ticks(bar.time.beat)
    if beat != bar.time.beat * context.piece.ticks_per_quarter:
        return []  # nothing in the piece divides its beats
    found: list[Clash] = []
    part = 3 if bar.time.beat.numerator % 3 == 0 else 2
    for length in sorted({beat // part, beat, 2 * beat, ticks(bar.time.length)}):
        if length <= 1 or (length < beat and beat % part):
            continue
        step = min(length, beat)
        for at in range(start, end - length + 1, step):
            if any(c.start < at + length and at < c.start + c.length for c in found):
                continue
            divided = [d for line in lines if (d := _divide(line, at, length, length > beat))]
            clash = _worst_pair(divided, at, length)
            if clash is not None:
                found.append(clash)
    return found


def _divide(line: Line, start: int, length: int, complete: bool) -> Division | None:
    """The number of `line` in the span, or None where it has none."""
    inside = [row for row in line.rows if start <= row[0] < start + length]
    if not inside:
        return None
    shared = gcd(length, *(onset - start for onset, _, _ in inside))
    parts = length // shared
    struck = tuple((onset - start) // shared for onset, _, _ in inside)
    if parts < 2 or parts > LARGEST_NUMBER or len(struck) < STRUCK_SHARE * parts:
        return None
    _, end, last = inside[-1]
    tied = any(n.tied_ids for n in last.notes)
    if end > start + length and not tied and parts not in (2, 4):
        return None  # a group that runs on over the end of the span divides a longer one
    if complete and (len(struck) < parts - (0 not in struck) or end > start + length):
        return None
    if complete and 0 not in struck and not any(o < start < e for o, e, _ in line.rows):
        return None
    return Division(line.side, parts, struck, tuple(a for _, _, a in inside))


def _worst_pair(divided: Sequence[Division], start: int, length: int) -> Clash | None:
    """The pair with the most attacks whose numbers clash; between the hands before within one."""
    best: Clash | None = None
    for one, other in combinations(divided, 2):
        more, fewer = (one, other) if one.parts >= other.parts else (other, one)
        if more.parts % fewer.parts == 0:
            continue
        clash = Clash(start, length, more, fewer)
        key = (clash.hand == "both", len(clash.composite))
        if best is None or key > (best.hand == "both", len(best.composite)):
            best = clash
    return best


def _candidate(context: Context, bar: Bar, clashes: Sequence[Clash]) -> Candidate:
    first = max(clashes, key=lambda c: (len(c.composite), not c.more.dotted, -c.start))
    per_quarter = context.piece.ticks_per_quarter
    onset = Fraction(first.start, per_quarter)
    shared = gcd(first.more.parts, first.fewer.parts)
    span = Fraction(first.length, per_quarter)
    seconds = context.seconds(onset + span) - context.seconds(onset)
    attacks = len(first.composite) / shared
    rate = len(first.composite) / seconds
    dotted = first.more.dotted or first.fewer.dotted
    hidden = sum(1 for c in clashes if 0 not in c.more.struck or 0 not in c.fewer.struck)
    demand = attacks + RATE_WEIGHT * rate + RUN_WEIGHT * min(len(clashes) - 1, LONGEST_RUN)
    demand *= DOTTED_SHARE if dotted else 1.0
    level = context.level
    more, fewer = first.ratio
    notes = dict.fromkeys(
        i for c in sorted(clashes, key=lambda c: c.start) for d in (c.more, c.fewer)
        for a in d.attacks for i in a.ids
    )  # fmt: skip
    return Candidate(
        bar.index,
        bar.index,
        first.hand,
        tuple(notes),
        severity_by_ratio(demand, by_level(level, *ORDINARY), by_level(level, *HARD)),
        family=f"{more}:{fewer}",
        numbers={
            "more": more, "fewer": fewer, "seconds": seconds / shared, "rate": rate,
            "spans": len(clashes) * shared, "hidden": hidden, "attacks": len(first.composite),
            "shared": shared,
        },
        facts={
            "more": first.more.side,
            "fewer": first.fewer.side,
            "composite": listed([str(f * shared) for f in first.composite if f * shared < 1]),
            "dotted": "yes" if dotted else "",
        },
    )  # fmt: skip


def describe(worst_first: Sequence[Candidate], context: Context) -> Wording:
    """Words for the polyrhythms of one ratio."""
    worst = worst_first[0]
    at = start_of(worst, context)
    more, fewer = int(worst.numbers["more"]), int(worst.numbers["fewer"])
    if worst.facts["dotted"]:
        return _dotted(worst_first, context)
    if worst.hand == "both":
        who = f"The {worst.facts['more']} hand has {number(more)} while the {worst.facts['fewer']} has {number(fewer)}"
        slow, quick = f"the {worst.facts['fewer']} hand", f"the {worst.facts['more']} hand"
    else:
        who = f"One voice of the {hand_name(worst.hand)} has {number(more)} while the other has {number(fewer)}"
        slow, quick = f"the line in {number(fewer)}", f"the line in {number(more)}"
    spans, hidden = int(worst.numbers["spans"]), int(worst.numbers["hidden"])
    reason = (
        f"{who}, {times(spans)} in {where(worst, context)}: each group lasts "
        f"{decimal(worst.numbers['seconds'], 2)} seconds {tempo_basis(context, at)}, and together the "
        f"notes come {decimal(worst.numbers['rate'])} a second."
    )
    if hidden:
        reason += (
            f" {capital(times(hidden))} a tie or a rest hides the place where they meet, so that nothing "
            "is struck together there."
        )
    composite = worst.facts["composite"]
    small = more + fewer <= 9 and composite
    speak = (
        f"Tap the rhythm of both together with the two hands on your knees: in each group the taps fall at {composite} of it. Say the count aloud until it runs by itself, then play it on one key for each hand."
        if small
        else f"Let {slow} keep an even pulse and fit {quick} into it as one sweep, first with only its first note placed exactly, then with the note nearest to each of the {counted(fewer, 'beat')} of the other."
    )
    steps = [
        f"Play {slow} alone in {where(worst, context)} until its {counted(fewer, 'note')} in each group are equal, then {quick} alone, both at {tempo_words(context, at, 0.6)}.",
        speak,
    ]
    if hidden:
        steps.append(
            "Strike the tied or rested first notes as well until the groups meet, then leave them out again."
        )
    steps.append(
        f"Both together from one bar before, stopping on the first note of the next group; then without the stop, from {tempo_words(context, at, 0.5)} upwards."
    )
    return Wording(
        title=f"{capital(number(more))} against {number(fewer)}",
        reason=reason + other_places(worst_first, context),
        goes_wrong=(
            f"{capital(slow)} bends to the other: its {counted(fewer, 'note')} stop being equal, "
            + ("the last one waits for its neighbour" if fewer < 4 else "and the accents of the other hand go through it")
            + ("; where the meeting point is hidden, the group starts late." if hidden else ".")
        ),
        try_=tuple(steps),
        done_when=(
            f"{capital(where(worst, context))} three times in a row at {tempo_words(context, at, 0.9)}, "
            f"and someone listening can clap {slow} through it without being led astray."
        ),
        evidence=_evidence(worst, context),
    )  # fmt: skip


def _dotted(worst_first: Sequence[Candidate], context: Context) -> Wording:
    worst = worst_first[0]
    at = start_of(worst, context)
    gap = worst.numbers["seconds"] / 12.0
    reason = (
        f"A dotted figure stands against triplets in {where(worst, context)}. Read exactly, the short "
        f"note comes {decimal(1000 * gap, 0)} milliseconds after the last triplet {tempo_basis(context, at)}; "
        "in much music before about 1850 the two are played together."
    )
    return Wording(
        title="Dotted notes against triplets",
        reason=reason + other_places(worst_first, context),
        goes_wrong="Some of the short notes fall with the triplet and some after it, without a decision.",
        try_=(
            "Decide with your teacher whether the short note falls with the last triplet or after it, and write it into the score.",
            f"Play the triplets alone at {tempo_words(context, at, 0.6)}, saying the word for the short note where it falls.",
            "Both hands, stopping on the short note; check that it stands where you decided; then go on without the stop.",
        ),
        done_when=f"{capital(where(worst, context))} three times in a row at {tempo_words(context, at, 0.9)}, every short note in the same place.",
        evidence=_evidence(worst, context),
    )


def _evidence(worst: Candidate, context: Context) -> tuple[Evidence, ...]:
    numbers = worst.numbers
    return (
        Evidence("ratio", worst.family),
        Evidence("length of one group", round(numbers["seconds"], 3), "s", tempo_source(context, start_of(worst, context))),
        Evidence("rate of both together", round(numbers["rate"], 1), "notes/s", SOURCE),
        Evidence("groups in the bar", int(numbers["spans"])),
        Evidence("hidden meeting points", int(numbers["hidden"])),
    )  # fmt: skip


KIND = Kind("polyrhythm", "different numbers at once", find, describe)
