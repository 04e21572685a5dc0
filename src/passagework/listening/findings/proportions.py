"""Proportions inside the beat: which note of a triplet, a dotted figure or a group of even notes is long or short, as a habit.

Conventions
-----------
* Each figure's shares of its time are measured (`passagework.listening.figures`), a tempo on its way taken off, and
  compared with the written ones. A *departure* of 0.05 is five percentage points of the figure.
* One figure says nothing: a habit is a stretch of figures of one shape in which the same note departs to the same side
  (`passagework.listening.habits`). Figures that stand against another division in the other hand are
  `passagework.listening.findings.polyrhythm`'s.
* Good playing is not even. Over 13 concert performances of seven movements whole stretches depart by up to 6 points (the
  first note of an accompanying figure longer, the last of four), dotted figures by up to 9 to either side; all that is
  taken for granted. So is what chance gives: in quick figures one percentage point is a few milliseconds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import sqrt
from statistics import fmean

from passagework.listening.behind import preferred
from passagework.listening.clashes import stands_against
from passagework.listening.figure_names import DOTTED, figure_name, is_even, note_of
from passagework.listening.figures import Figure, Shape, find_figures
from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.habits import Stretch, habits, noise
from passagework.listening.heard import Heard
from passagework.score.piece import Side
from passagework.spots.spot import Evidence, SpotHand
from passagework.spots.words_of import capital, counted, hand_name, times

SOURCE = "share of the figure's time, mean of the stretch; limits from concert performances"

EVEN_LEAST, DOTTED_LEAST, MIXED_LEAST = 0.07, 0.09, 0.15
"""Mean departure from which a stretch is named: figures of even notes, a long note and a short one (which are played
sharper or softer by taste), other figures."""

NORMAL_SHARE = 0.6
"""What is normal for one figure, as a share of those."""

ENOUGH = 9
"""Figures with which the least departure is believed; with fewer it must be larger, as the root of their number."""

TIMES_NOISE = 1.8
"""A stretch must depart by so many times what one figure differs from the next by chance."""

FEWEST = 4
"""Figures that make a habit."""

STEADY = 1.4
"""The mean must be so many times what the figures of the stretch vary: less is unevenness
(`passagework.listening.findings.evenness`)."""

GAP_BARS = 6
"""Bars without such a figure that end a stretch."""

WORTH_MS = 30.0
"""Milliseconds by which the note is long or short on average: less is near to what listeners tell apart in
context (Friberg and Sundberg, 1995, some 10 ms; Clarke, 1989, 20 to 50 ms in music with expression)."""


@dataclass(frozen=True, slots=True)
class Habit:
    """A stretch of figures in which one note departs to one side."""

    figures: tuple[Figure, ...]
    member: int
    stretch: Stretch

    @property
    def side(self) -> Side:
        """Its hand."""
        return self.figures[0].side

    @property
    def shape(self) -> Shape:
        """Its shape."""
        return self.figures[0].shape

    @property
    def shares(self) -> tuple[float, ...]:
        """Mean share of each note, the tempo on its way taken off."""
        written = self.figures[0].written
        off = zip(*(f.departures for f in self.figures), strict=True)
        return tuple(w + fmean(d) for w, d in zip(written, off, strict=True))

    @property
    def seconds(self) -> float:
        """Mean length of a figure."""
        return fmean(f.seconds for f in self.figures)

    @property
    def evidence(self) -> float:
        """What it weighs against another habit of the same figures."""
        return abs(self.stretch.mean) * sqrt(self.stretch.count)


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each stretch with a habit."""
    against = stands_against(heard)
    rows = [
        [f for f in row if not against(f.bar, f.position, f.position + float(f.length))]
        for _, row in sorted(find_figures(heard).items(), key=lambda item: str(item[0]))
    ]
    found = [h for row in rows for h in figure_habits(row)]
    for same in _both_hands(found):
        yield _finding(heard, same)


def figure_habits(row: Sequence[Figure]) -> list[Habit]:
    """Habits in figures of one hand, shape and length, in order; where two notes of the same figures depart, the note that
    tells more is kept.
    """
    found: list[Habit] = []
    for part in _without_gaps(row):
        if len(part) < FEWEST:
            continue
        best: list[Habit] = []
        for habit in sorted(_of_part(part), key=lambda h: -h.evidence):
            taken = any(
                habit.stretch.first <= b.stretch.last and b.stretch.first <= habit.stretch.last
                for b in best
            )
            if not taken:
                best.append(habit)
        found += sorted(best, key=lambda h: h.stretch.first)
    return found


def _of_part(part: Sequence[Figure]) -> Iterable[Habit]:
    least = least_of(part[0].shape)
    departures = [f.departures for f in part]
    for member in range(len(part[0].shape)):
        row = [d[member] for d in departures]
        lowest = max(least, TIMES_NOISE * noise(row))
        for stretch in habits(row, NORMAL_SHARE * lowest, FEWEST, lowest):
            habit = Habit(tuple(part[stretch.first : stretch.last + 1]), member, stretch)
            if habit.evidence >= lowest * sqrt(ENOUGH) and _is_habit(habit):
                yield habit


def _is_habit(habit: Habit) -> bool:
    """Whether it comes back in another bar or pass, and can be heard."""
    bars = {(f.run, f.bar) for f in habit.figures}
    if abs(habit.stretch.mean) < STEADY * habit.stretch.spread:
        return False
    return len(bars) > 1 and 1000.0 * abs(habit.stretch.mean) * habit.seconds >= WORTH_MS


def least_of(shape: Shape) -> float:
    """Mean departure from which figures of a shape are named."""
    if is_even(shape):
        return EVEN_LEAST
    return DOTTED_LEAST if shape in DOTTED else MIXED_LEAST


def _without_gaps(row: Sequence[Figure]) -> list[list[Figure]]:
    parts: list[list[Figure]] = []
    for figure in row:
        if parts and abs(figure.bar - parts[-1][-1].bar) <= GAP_BARS:
            parts[-1].append(figure)
        else:
            parts.append([figure])
    return parts


def _both_hands(found: Sequence[Habit]) -> list[list[Habit]]:
    """The same habit of both hands in the same bars is one thing to say."""
    groups: list[list[Habit]] = []
    for habit in found:
        match = next((g for g in groups if len(g) == 1 and _alike(g[0], habit)), None)
        if match is None:
            groups.append([habit])
        else:
            match.append(habit)
    return groups


def _alike(one: Habit, other: Habit) -> bool:
    same = one.side != other.side and one.shape == other.shape and one.member == other.member
    if not same or (one.stretch.mean > 0) != (other.stretch.mean > 0):
        return False
    low = max(min(f.bar for f in h.figures) for h in (one, other))
    high = min(max(f.bar for f in h.figures) for h in (one, other))
    shorter = min(
        max(f.bar for f in h.figures) - min(f.bar for f in h.figures) for h in (one, other)
    )
    return high - low >= shorter / 2


def _finding(heard: Heard, same: Sequence[Habit]) -> Finding:
    main = max(same, key=lambda h: h.evidence)
    figures = sorted((f for h in same for f in h.figures), key=lambda f: (f.run, f.position))
    hand: SpotHand = "both" if len(same) > 1 else main.side
    bars = sorted({f.bar for f in figures})
    ids = tuple(dict.fromkeys(n.id for f in figures for notes in f.notes for n in notes))
    runs = tuple(sorted({f.run for f in figures}))
    dotted = main.shape in DOTTED
    kinds = (
        ("dotted-rhythm", "changing-divisions")
        if dotted
        else ("changing-divisions", "passagework", "syncopation")
    )
    size = abs(main.stretch.mean)
    lowest = least_of(main.shape)
    return Finding(
        "proportions",
        bars[0],
        bars[-1],
        hand,
        ids,
        _measure(main),
        _words(heard, main, hand, bars, runs),
        _advice(main),
        min(0.6 + 0.15 * (size / lowest - 1.0) + 0.01 * main.stretch.count, 0.95),
        min(0.3 + 2.0 * size + 0.01 * min(main.stretch.count, 20), 0.9),
        runs,
        (),
        preferred(heard, ids, kinds, "dotted-rhythm" if dotted else "changing-divisions"),
    )  # fmt: skip


def _measure(main: Habit) -> tuple[Evidence, ...]:
    written = main.figures[0].written
    rows = [
        Evidence(f"share of {note_of(main.shape, k)}", round(100 * share, 1), "%", SOURCE)
        for k, share in enumerate(main.shares)
    ]
    rows += [
        Evidence("written shares", " : ".join(f"{100 * w:.0f}" for w in written), "%"),
        Evidence("figures", main.stretch.count),
        Evidence("to the same side", round(100 * main.stretch.same), "%"),
    ]
    return tuple(rows)


def _words(
    heard: Heard, main: Habit, hand: SpotHand, bars: Sequence[int], runs: Sequence[int]
) -> str:
    share, written = main.shares[main.member], main.figures[0].written[main.member]
    long = "long" if main.stretch.mean > 0 else "short"
    name = figure_name(main.figures[0])
    where = heard.context.bar_names(range(bars[0], bars[-1] + 1))
    again = f" It was heard {times(len(runs))}." if len(runs) > 1 else ""
    return (
        f"{capital(where)}, {hand_name(hand)}: in {counted(main.stretch.count, 'figure')} ({name}) {note_of(main.shape, main.member)} "
        f"is {long}: {100 * share:.0f} per cent of the time instead of {100 * written:.0f}.{again}"
    )


def _advice(main: Habit) -> str:
    if not is_even(main.shape):
        return "Count the smallest value aloud through the long note, and place the short one on its own count."
    if len(main.shape) == 3:
        return "Tap the beat with one hand and say three even syllables to it; then play them on one key before you play the notes."
    first = main.stretch.mean > 0
    return (
        "Practise the group the other way round, "
        + (
            "with that note short and the others long, "
            if first
            else "with that note long and the others short, "
        )
        + "then even, with the metronome on each note."
    )


KIND = FindingKind("proportions", "proportions inside the beat", find)

__all__ = ["KIND", "Habit", "figure_habits", "find"]
