"""Unbroken rows of even attacks in one line: what passagework, double notes and octaves are made of."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from passagework.score.piece import Side
from passagework.spots.context import Attack, Context


@dataclass(frozen=True, slots=True)
class Run:
    """Attacks that follow each other at equal distance."""

    attacks: tuple[Attack, ...]
    rate: float
    """Attacks per second at its start."""

    @property
    def side(self) -> Side:
        """Its hand."""
        return self.attacks[0].side

    def __len__(self) -> int:
        return len(self.attacks)


def even_runs(
    context: Context,
    attacks: Sequence[Attack],
    belongs: Callable[[Attack], bool],
    goes_on: Callable[[Attack, Attack], bool],
    at_least: int,
) -> Iterator[Run]:
    """Yield the runs of `attacks` with at least so many members.

    Every member `belongs`, each goes on from the one before (`goes_on`), and the steps from attack
    to attack are equal. Linear in the number of attacks.
    """
    row: list[Attack] = []
    step: int | None = None
    for attack in attacks:
        if not belongs(attack):
            yield from _closed(context, row, at_least)
            row, step = [], None
            continue
        if row:
            gap = attack.tick - row[-1].tick
            joined = goes_on(row[-1], attack)
            if joined and (step is None or gap == step):
                step = gap
                row.append(attack)
                continue
            yield from _closed(context, row, at_least)
            # The last note of one run is the first of the next one where only the pace changes.
            row, step = ([row[-1], attack], gap) if joined else ([attack], None)
            continue
        row = [attack]
    yield from _closed(context, row, at_least)


def _closed(context: Context, row: list[Attack], at_least: int) -> Iterator[Run]:
    if len(row) < max(at_least, 2):
        return
    seconds = context.seconds(row[-1].onset) - context.seconds(row[0].onset)
    if seconds > 0:
        yield Run(tuple(row), (len(row) - 1) / seconds)


def joined(one: Attack, other: Attack) -> bool:
    """Whether no rest is written between two attacks of a line."""
    return one.release >= other.tick


def by_bar(run: Run) -> list[tuple[Attack, ...]]:
    """A run cut at the bar lines."""
    rows: list[list[Attack]] = []
    for attack in run.attacks:
        if not rows or rows[-1][0].bar != attack.bar:
            rows.append([])
        rows[-1].append(attack)
    return [tuple(row) for row in rows]
