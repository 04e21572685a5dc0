"""Joins the ends of slurs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction

from passagework.score.heads import Head
from passagework.score.piece import Slur


def join_slurs(heads: Sequence[Head], quarters: Callable[[int], Fraction]) -> list[Slur]:
    """Slurs from the starts and stops on `heads`; an end without its partner is left out.

    `quarters` turns ticks into quarters. Ends are matched by number, the same staff preferred.
    """
    events = [
        (head.onset, not head.grace, kind != "stop", index, kind, name)
        for index, head in enumerate(heads)
        for kind, name in head.signs.slurs
    ]
    events.sort()
    opened: dict[str, list[int]] = {}
    slurs: list[Slur] = []
    for _, _, _, index, kind, name in events:
        if kind == "start":
            opened.setdefault(name, []).append(index)
            continue
        starts = opened.get(name, [])
        if not starts:
            continue
        first = next((s for s in starts if heads[s].staff == heads[index].staff), starts[0])
        starts.remove(first)
        slurs.append(
            Slur(
                heads[first].id,
                heads[index].id,
                quarters(heads[first].onset),
                quarters(heads[index].end),
                heads[first].staff,
            )
        )
    return sorted(slurs, key=lambda s: (s.onset, s.end))
