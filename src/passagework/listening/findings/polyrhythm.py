"""Different numbers at once: where each note of the two groups was placed in the span that they share.

Conventions
-----------
* The *span* and the two numbers are those of `passagework.spots.polyrhythm`; a note's *placement* is the time from the start of the
  span to its attack, over the time of the span (`passagework.listening.clashes`). In three against two the second note of the two is
  written at 50 per cent, the notes of the three at 33 and 67.
* A *departure* of 0.1 is ten percentage points of the span. A habit is a stretch of spans of one ratio in which a note of one hand departs
  to the same side (`passagework.listening.habits`), in its place or in the time that it is given; where another note of the same group departs too, the one that tells more is named.
* What usually happens: one hand bends to the other, and the notes of the smaller group stop being equal.
* Over concert performances stretches depart by up to 7 points in spans of a second.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean

from passagework.listening.clashes import Placed, find_placed
from passagework.listening.figure_names import ORDINALS
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import Stretch, habits, noise
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted, hand_name, number, times

SOURCE = "place in the span, mean of the stretch; limits from concert performances"

LEAST = 0.075
"""Mean departure of a placement from which a stretch is named."""

NORMAL_SHARE = 0.6
"""What is normal for one span, as a share of that."""

ENOUGH = 5
"""Spans with which that is believed; with fewer the departure must be larger, as the root of their number."""

TIMES_NOISE = 1.0
"""A stretch must depart by so many times what one span differs from the next by chance."""

FEWEST = 3
"""Spans that make a habit."""

GAP_BARS = 8
"""Bars without such a span that end a stretch."""

WORTH_MS = 28.0
"""Milliseconds below which a displaced note is not told from expression."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A stretch of spans in which one note of a group departs to one side."""

    row: tuple[Placed, ...]
    member: int
    stretch: Stretch
    placed: bool
    """Whether the note's place departs, or else the time until the next one."""

    @property
    def evidence(self) -> float:
        """What it weighs against another habit of the same spans."""
        return abs(self.stretch.mean) * sqrt(self.stretch.count)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each stretch with a habit."""
    found = [
        h
        for row in find_placed(heard).values()
        for part in _without_gaps(row)
        for h in _habits(part)
    ]
    kept: list[Habit] = []
    for habit in sorted(found, key=lambda h: -h.evidence):
        bars = {p.bar for p in habit.row}
        # One hand that bends moves what the other is measured by: the note that tells most is named.
        if not any(bars & {p.bar for p in other.row} for other in kept):
            kept.append(habit)
    for habit in sorted(kept, key=lambda h: h.row[0].bar):
        yield _finding(heard, habit)


def _without_gaps(row: Sequence[Placed]) -> list[list[Placed]]:
    parts: list[list[Placed]] = []
    for placed in row:
        if parts and abs(placed.bar - parts[-1][-1].bar) <= GAP_BARS:
            parts[-1].append(placed)
        else:
            parts.append([placed])
    return parts


def _habits(part: Sequence[Placed]) -> Iterable[Habit]:
    for placed in (True, False):
        rows = [p.departures if placed else p.lengthened for p in part]
        for member, struck in enumerate(part[0].struck):
            if placed and struck == 0:
                continue  # the span begins with it
            row = [d[member] for d in rows]
            lowest = max(LEAST, TIMES_NOISE * noise(row))
            for stretch in habits(row, NORMAL_SHARE * lowest, FEWEST, lowest):
                spans = tuple(part[stretch.first : stretch.last + 1])
                habit = Habit(spans, member, stretch, placed)
                audible = 1000.0 * abs(stretch.mean) * fmean(p.seconds for p in spans) >= WORTH_MS
                if audible and habit.evidence >= lowest * sqrt(ENOUGH):
                    yield habit


def _finding(heard: Heard, habit: Habit) -> Finding:
    row, first = habit.row, habit.row[0]
    bars = sorted({p.bar for p in row})
    more, fewer = first.ratio
    ids = tuple(dict.fromkeys(n.id for p in row for notes in p.notes for n in notes))
    runs = tuple(sorted({p.run for p in row}))
    size = abs(habit.stretch.mean)
    evidence = [
        Evidence(
            f"place of the {ORDINALS[k]} of {number(first.parts)}",
            round(100 * fmean(p.places[m] for p in row), 1),
            "%",
            SOURCE,
        )
        for m, k in enumerate(first.struck)
        if k < len(ORDINALS)
    ]
    written = " : ".join(f"{100 * k / first.parts:.0f}" for k in first.struck)
    evidence += [Evidence("written places", written, "%"), Evidence("spans", len(row))]
    return Finding(
        "polyrhythm",
        bars[0],
        bars[-1],
        first.side,
        ids,
        tuple(evidence),
        _words(heard, habit, bars, runs),
        f"Tap both hands together while you say the joint rhythm of {number(more)} against {number(fewer)}, slowly; then play it on one key in each hand.",
        min(0.6 + 0.15 * (size / LEAST - 1.0) + 0.01 * len(row), 0.95),
        min(0.3 + 2.0 * size + 0.01 * min(len(row), 20), 0.9),
        runs,
        (),
        ("polyrhythm",),
    )  # fmt: skip


def _words(heard: Heard, habit: Habit, bars: Sequence[int], runs: Sequence[int]) -> str:
    first = habit.row[0]
    more, fewer = first.ratio
    where = heard.context.bar_names(range(bars[0], bars[-1] + 1))
    again = f" It was heard {times(len(runs))}." if len(runs) > 1 else ""
    k = first.struck[habit.member]
    note = f"the {ORDINALS[min(k, 7)]} of the {number(first.parts)} in the {hand_name(first.side)}"
    return f"{capital(where)}, {number(more)} against {number(fewer)}: {note} {_how(habit)}, in {counted(len(habit.row), 'place')}.{again}"


def _how(habit: Habit) -> str:
    """What the note does, in percent of the span."""
    first, m = habit.row[0], habit.member
    mean = 100 * habit.stretch.mean
    if habit.placed:
        written = 100 * first.struck[m] / first.parts
        return f"comes {'late' if mean > 0 else 'early'}, {written + mean:.0f} per cent into the span instead of {written:.0f}"
    end = first.struck[m + 1] if m + 1 < len(first.struck) else first.parts
    written = 100 * (end - first.struck[m]) / first.parts
    return f"is {'long' if mean > 0 else 'short'}, {written + mean:.0f} per cent of the span instead of {written:.0f}"


KIND = FindingKind("polyrhythm", "different numbers at once", find)
