"""Passages that come back: exactly, at another pitch, or varied.

Bars are compared along diagonals (bar k with bar k + lag, moved by a number of staff steps). A diagonal
is entered only where fingerprints agree in a hash table, and followed while the bars stay alike, so the
cost is linear in the bars with a constant that `RECENT` and `FOLLOWED` bound.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import Literal

from passagework.analysis.form_prints import BarPrint, likeness

RepeatKind = Literal["exact", "transposed", "varied"]

RECENT = 5
"""Earlier bars with the same fingerprint that a bar is compared with, besides the very first."""

FOLLOWED = 16
"""Diagonals followed at once; the longest are kept."""

ALIKE = 0.5
"""Share of common points from which two bars are varied forms of one."""

BACKWARD = 4
"""Bars by which a return is followed backwards from where fingerprints agree: a varied beginning."""

UNLIKE_ALLOWED = 2
"""Unlike bars in a row that a varied return may hold before it ends."""

SHORTEST = 2
"""Bars of a return that is worth naming."""

FEWEST_NOTES = 6
"""Notes that a return must hold: two bars of rests are no return."""


@dataclass(frozen=True, slots=True)
class Repeat:
    """Bars that come back later. Bar indices, the last ones included."""

    first_bar: int
    last_bar: int
    again_first: int
    again_last: int
    kind: RepeatKind
    shift: int
    """Staff steps by which the return is moved."""
    semitones: int
    """The same in semitones (the commonest, where the mode changes)."""
    likeness: float
    """Mean over the bars, 0 to 1."""
    changed: tuple[int, ...]
    """Bars of the return that are not the same as (or the same transposition of) their model."""

    @property
    def bars(self) -> int:
        """How many bars come back."""
        return self.last_bar - self.first_bar + 1


@dataclass
class Diagonal:
    """A run of bars alike to the bars `lag` before, moved by `shift`."""

    lag: int
    shift: int
    first: int
    """First bar of the return."""
    likes: list[float]

    @property
    def last(self) -> int:
        """Last bar of the return."""
        return self.first + len(self.likes) - 1

    @property
    def total(self) -> float:
        """Bars' worth of likeness."""
        return sum(self.likes)


def find_diagonals(prints: Sequence[BarPrint]) -> list[Diagonal]:
    """All diagonals of alike bars, any length, in order of their end."""
    table: dict[Hashable, list[tuple[int, int]]] = defaultdict(list)
    active: dict[tuple[int, int], Diagonal] = {}
    done: list[Diagonal] = []
    for j, bar in enumerate(prints):
        wanted = dict.fromkeys(active)
        for shape, base in bar.shapes:
            earlier = table[shape]
            for i, other in {*earlier[:1], *earlier[-RECENT:]}:
                wanted[j - i, base - other] = None
            earlier.append((j, base))
        # Dictionary order, not set order, decides nothing below: each diagonal stands for itself.
        for key in wanted:
            _follow(key, j, prints, active, done)
        if len(active) > FOLLOWED:
            ranked = sorted(active, key=lambda k: (-active[k].total, abs(k[1]), k))
            for key in ranked[FOLLOWED:]:
                _close(active.pop(key), done)
    for diagonal in active.values():
        _close(diagonal, done)
    return done


def _follow(
    key: tuple[int, int],
    j: int,
    prints: Sequence[BarPrint],
    active: dict[tuple[int, int], Diagonal],
    done: list[Diagonal],
) -> None:
    lag, shift = key
    like = likeness(prints[j - lag], prints[j], shift)
    run = active.get(key)
    if like >= ALIKE:
        if run is None:
            active[key] = _begin(lag, shift, j, like, prints)
        else:
            run.likes.append(like)
    elif run is not None:
        unlike = sum(one < ALIKE for one in run.likes[-UNLIKE_ALLOWED:])
        if len(run.likes) > SHORTEST and unlike < UNLIKE_ALLOWED and run.total > len(run.likes) / 2:
            run.likes.append(like)
        else:
            _close(active.pop(key), done)


def _begin(lag: int, shift: int, j: int, like: float, prints: Sequence[BarPrint]) -> Diagonal:
    """A diagonal from bar j, and from a few bars before it where they are alike too."""
    likes = [like]
    first = j
    while j - first < BACKWARD and first - 1 - lag >= 0:
        before = likeness(prints[first - 1 - lag], prints[first - 1], shift)
        if before < ALIKE:
            break
        likes.insert(0, before)
        first -= 1
    return Diagonal(lag, shift, first, likes)


def _close(run: Diagonal, done: list[Diagonal]) -> None:
    while run.likes and run.likes[-1] < ALIKE:
        run.likes.pop()
    if run.likes:
        done.append(run)


def choose_repeats(prints: Sequence[BarPrint], diagonals: Sequence[Diagonal]) -> tuple[Repeat, ...]:
    """The returns worth naming: for every bar the longest and most alike, in order of the return.

    A figure that repeats itself bar after bar is one return of its first bars, not one of each.
    """
    found: list[Repeat] = []
    for run in diagonals:
        first, last = run.first, min(run.last, run.first + run.lag - 1)
        if last - first + 1 < SHORTEST:
            continue
        notes = sum(len(prints[j].notes) for j in range(first, last + 1))
        if notes < FEWEST_NOTES:
            continue
        found.append(_repeat(prints, run, first, last))
    found.sort(key=lambda r: (-r.bars * r.likeness, abs(r.shift), r.first_bar, r.again_first))
    covered = [False] * len(prints)
    chosen: list[Repeat] = []
    for repeat in found:
        span = range(repeat.again_first, repeat.again_last + 1)
        fresh = sum(not covered[j] for j in span)
        if 2 * fresh > len(span):
            chosen.append(repeat)
            for j in span:
                covered[j] = True
    return tuple(sorted(chosen, key=lambda r: (r.again_first, r.first_bar)))


def _repeat(prints: Sequence[BarPrint], run: Diagonal, first: int, last: int) -> Repeat:
    likes = run.likes[: last - first + 1]
    semitones = _semitones(prints, run, first, last)
    same = [
        prints[j].exact == prints[j - run.lag].exact if run.shift == 0 else likes[j - first] == 1.0
        for j in range(first, last + 1)
    ]
    kind: RepeatKind = "varied"
    if all(same):
        kind = "transposed" if run.shift or semitones else "exact"
    return Repeat(
        first - run.lag, last - run.lag, first, last, kind, run.shift, semitones,
        round(sum(likes) / len(likes), 3),
        tuple(j for j, is_same in zip(range(first, last + 1), same, strict=True) if not is_same),
    )  # fmt: skip


def _semitones(prints: Sequence[BarPrint], run: Diagonal, first: int, last: int) -> int:
    """Commonest difference in semitones between the lowest notes of the bars compared."""
    votes: dict[int, int] = defaultdict(int)
    for j in range(first, last + 1):
        a, b = prints[j - run.lag].notes, prints[j].notes
        for one, other in zip(a[:8], b[:8], strict=False):
            if other.pitch.diatonic - one.pitch.diatonic == run.shift:
                votes[other.midi - one.midi] += 1
    return max(sorted(votes, key=abs), key=lambda s: votes[s], default=0)
