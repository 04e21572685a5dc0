"""Forks: places where two passages begin alike and part, with the first note that differs in each.

They are where memory slips into the other passage. Two passages at the same pitch are a fork where at
least `STEM_NOTES` notes before the parting are the same in both and what follows is not. Keys and
times decide; how long a note is held does not make another passage.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

from passagework.analysis.form_prints import BarPrint, likeness
from passagework.analysis.form_repeats import Diagonal
from passagework.score.piece import Note, Piece, Position

STEM_NOTES = 8
"""Notes in common that lead to a parting; fewer are a turn of phrase, not a passage."""

STEM_LAG = 2
"""Bars between the two passages at least: a bar and its own repetition are not two passages."""


@dataclass(frozen=True, slots=True)
class Branch:
    """One of the two passages of a fork."""

    first_bar: int
    """Where the stem begins (bar indices)."""
    parting_bar: int
    """The bar in which it parts."""
    position: Position
    """Where the first different note stands."""
    last_common: str
    """Id of the last note before the parting."""
    note_ids: tuple[str, ...]
    """The notes with which it goes its own way: those struck at `position` that the other has not."""


@dataclass(frozen=True, slots=True)
class Fork:
    """Two passages that begin alike and part."""

    earlier: Branch
    later: Branch
    stem_bars: int
    """Whole bars that are the same before the bar of the parting."""
    stem_notes: int
    """Notes that are the same before the parting (counted to at most `COUNTED_BARS` bars back)."""
    likeness: float
    """Share of common points in the bar of the parting, 0 to 1: the more, the easier to confuse."""


COUNTED_BARS = 16
"""Bars of a stem that are counted: after more nobody remembers how it began."""


def find_forks(
    piece: Piece, prints: Sequence[BarPrint], diagonals: Sequence[Diagonal]
) -> tuple[Fork, ...]:
    """All forks, in order of the later passage. The same parting met again is given once."""
    found: dict[Hashable, Fork] = {}
    pairs = {(d.lag, d.first, d.last + 1) for d in diagonals if d.shift == 0 and d.lag >= STEM_LAG}
    pairs |= _endings(piece)
    for lag, first, stop in sorted(pairs, key=lambda pair: (pair[1], pair[2], pair[0])):
        start = first
        for j in range(first, min(stop + 1, len(prints))):
            if _same(prints, j - lag, j):
                continue
            key = _key(prints, j - lag, j)
            known = found.get(key)
            if known is None or known.stem_bars <= j - start:
                fork = _fork(piece, prints, start, j, lag)
                if fork and (known is None or known.stem_notes < fork.stem_notes):
                    found[key] = fork
            start = j + 1
    return tuple(sorted(found.values(), key=lambda f: (f.later.position, f.earlier.position)))


def _same(prints: Sequence[BarPrint], i: int, j: int) -> bool:
    return prints[i].keys == prints[j].keys


def _endings(piece: Piece) -> set[tuple[int, int, int]]:
    """First and second endings, as (lag, first bar, bar after) of a comparison.

    The stem of the second ending is what stands before the first, so the two are compared as if the
    bars of the first ending were not there; the comparison itself is of the endings' first bars.
    """
    found: set[tuple[int, int, int]] = set()
    opened: int | None = None
    for bar in piece.bars:
        if bar.endings and 1 in bar.endings:
            previous = piece.bars[bar.index - 1] if bar.index else None
            if previous is None or 1 not in previous.endings:
                opened = bar.index
        elif bar.endings and opened is not None:
            previous = piece.bars[bar.index - 1]
            if previous.endings != bar.endings:
                found.add((bar.index - opened, bar.index, bar.index))
                opened = None
    return found


def _fork(piece: Piece, prints: Sequence[BarPrint], start: int, j: int, lag: int) -> Fork | None:
    """The fork whose stem of equal bars is start .. j - 1 and which parts in bar j, if there is one."""
    i = j - lag
    ending = bool(piece.bars[j].endings) and bool(piece.bars[i].endings) and start == j
    if ending:
        stem_first = later_first = max(0, i - COUNTED_BARS)
        stem = range(stem_first, i)
    else:
        stem_first = max(start, j - COUNTED_BARS, j - lag) - lag
        later_first = stem_first + lag
        stem = range(stem_first, i)
    if prints[i].silent or prints[j].silent:
        return None
    parting = _parting(prints, i, j)
    if parting is None:
        return None
    common, own, other = parting
    notes = sum(len(prints[k].notes) for k in stem) + len(common[0])
    if notes < STEM_NOTES:
        return None
    before = [n for k in stem for n in prints[k].notes]
    last_earlier = (common[0] or before)[-1].id
    later_before = before if ending else [n for k in stem for n in prints[k + lag].notes]
    last_later = (common[1] or later_before)[-1].id
    return Fork(
        Branch(stem_first, i, own[0].onset, last_earlier, tuple(n.id for n in own)),
        Branch(later_first, j, other[0].onset, last_later, tuple(n.id for n in other)),
        len(stem),
        notes,
        round(likeness(prints[i], prints[j]), 3),
    )


def _parting(
    prints: Sequence[BarPrint], i: int, j: int
) -> tuple[tuple[list[Note], list[Note]], list[Note], list[Note]] | None:
    """(common notes in each bar, then the first notes that only one and only the other has)."""
    rows = (prints[i].struck, prints[j].struck)
    common: tuple[list[Note], list[Note]] = ([], [])
    for time in sorted({*rows[0], *rows[1]}):
        struck = [row.get(time, []) for row in rows]
        keys = [{n.midi for n in notes} for notes in struck]
        if keys[0] == keys[1]:
            common[0].extend(struck[0])
            common[1].extend(struck[1])
            continue
        own = _alone(struck[0], struck[1]) or _next(rows[0], time) or struck[0]
        other = _alone(struck[1], struck[0]) or _next(rows[1], time) or struck[1]
        return (common, own, other) if own and other else None
    return None


def _alone(notes: Sequence[Note], others: Sequence[Note]) -> list[Note]:
    """The notes whose pitch the others have not."""
    pitches = {n.midi for n in others}
    return [n for n in notes if n.midi not in pitches]


def _next(row: dict[int, list[Note]], time: int) -> list[Note]:
    """What is struck next where one passage goes on and the other waits."""
    later = [t for t in row if t > time]
    return row[min(later)] if later and time not in row else []


def _key(prints: Sequence[BarPrint], i: int, j: int) -> Hashable:
    """Equal for two forks with the same bars at and before the parting, whichever comes first."""
    before = prints[j - 1].keys if j else None
    return before, frozenset((prints[i].keys, prints[j].keys))
