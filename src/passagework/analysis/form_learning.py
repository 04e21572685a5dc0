"""What to learn once: every bar's first appearance, and where it comes back."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from passagework.analysis.form_repeats import Repeat, RepeatKind

LEARNT_ALIKE = 0.7
"""Mean likeness from which a varied return counts as learnt with its model."""


@dataclass(frozen=True, slots=True)
class Return:
    """Where a passage comes back, and how. Bar indices, the last ones included."""

    first_bar: int
    last_bar: int
    model_first: int
    """The bars it repeats."""
    model_last: int
    kind: RepeatKind
    semitones: int
    changed: tuple[int, ...]
    """Bars of the return that are not quite their model's."""


@dataclass(frozen=True, slots=True)
class LearnOnce:
    """A passage to be learnt once, and its returns."""

    first_bar: int
    last_bar: int
    returns: tuple[Return, ...]


@dataclass(frozen=True, slots=True)
class LearningMap:
    """The piece as what is new and what comes back."""

    passages: tuple[LearnOnce, ...]
    """Passages that come back, in order."""
    new_bars: tuple[int, ...]
    """Bars to be learnt: all that are no return of an earlier bar."""
    returning_bars: tuple[int, ...]
    """Bars that are learnt with their model, as they stand or with small changes."""


def map_learning(bars: int, repeats: Sequence[Repeat]) -> LearningMap:
    """The learning map of a piece of `bars` bars with these repeats."""
    source: dict[int, tuple[int, Repeat]] = {}
    usable = [r for r in repeats if r.kind != "varied" or r.likeness >= LEARNT_ALIKE]
    usable.sort(key=lambda r: (r.kind != "exact", -r.bars * r.likeness, r.again_first, r.first_bar))
    for repeat in usable:
        for j in range(repeat.again_first, repeat.again_last + 1):
            source.setdefault(j, (j - (repeat.again_first - repeat.first_bar), repeat))
    returns = _returns(source)
    groups: list[list[Return]] = []
    for back in sorted(returns, key=lambda r: (r.model_first, r.model_last, r.first_bar)):
        reach = max((r.model_last for r in groups[-1]), default=-1) if groups else -1
        if groups and back.model_first <= reach:
            groups[-1].append(back)
        else:
            groups.append([back])
    passages = tuple(
        LearnOnce(
            min(r.model_first for r in group),
            max(r.model_last for r in group),
            tuple(sorted(group, key=lambda r: r.first_bar)),
        )
        for group in groups
    )
    return LearningMap(
        passages,
        tuple(j for j in range(bars) if j not in source),
        tuple(sorted(source)),
    )


def _returns(source: dict[int, tuple[int, Repeat]]) -> list[Return]:
    """Runs of returning bars, each led back to bars that are no returns themselves."""
    returns: list[Return] = []
    run: list[tuple[int, int, Repeat, bool]] = []
    for j in sorted(source):
        root, repeat, chained = _root(source, j)
        item = (j, root, repeat, chained)
        if run:
            before, before_root, before_repeat, before_chained = run[-1]
            goes_on = j == before + 1 and root == before_root + 1
            if not goes_on or repeat is not before_repeat or chained != before_chained:
                returns.append(_as_return(run))
                run = []
        run.append(item)
    if run:
        returns.append(_as_return(run))
    return returns


def _root(source: dict[int, tuple[int, Repeat]], j: int) -> tuple[int, Repeat, bool]:
    """The bar that is learnt for bar j, the repeat that leads there, and whether by way of another."""
    root, repeat = source[j]
    chained = False
    while root in source:
        root, chained = source[root][0], True
    return root, repeat, chained


def _as_return(run: Sequence[tuple[int, int, Repeat, bool]]) -> Return:
    first, root, repeat, chained = run[0]
    last = run[-1][0]
    changed = tuple(j for j in repeat.changed if first <= j <= last)
    kind: RepeatKind = repeat.kind
    if kind == "varied" and not changed and not chained:
        kind = "transposed" if repeat.shift else "exact"
    return Return(first, last, root, run[-1][1], kind, repeat.semitones, changed)
