"""Joins the ends of slurs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.score.heads import Head
from passagework.score.piece import Slur


@dataclass(frozen=True, slots=True)
class SlurEnds:
    """Ends of slurs matched: indices into the heads, and the number of those left alone."""

    pairs: tuple[tuple[int, int, str], ...]
    """First head, last head, number."""
    starts: tuple[tuple[int, str], ...]
    stops: tuple[tuple[int, str], ...]


def match_slurs(heads: Sequence[Head]) -> SlurEnds:
    """Match starts and stops by number in the order of sounding, the same voice preferred, then
    the same staff.

    Grace notes come one after the other though they share a place; on one note a slur ends before
    the next one begins.
    """
    events = sorted(
        (head.onset, not head.grace, index if head.grace else 0, kind != "stop", index, kind, name)
        for index, head in enumerate(heads)
        for kind, name in head.signs.slurs
    )
    opened: dict[str, list[int]] = {}
    pairs: list[tuple[int, int, str]] = []
    stops: list[tuple[int, str]] = []
    for *_, index, kind, name in events:
        starts = opened.setdefault(name, [])
        if kind == "start":
            starts.append(index)
        elif starts:
            first = min(starts, key=lambda s: _distance(heads[s], heads[index]))
            starts.remove(first)
            pairs.append((first, index, name))
        else:
            stops.append((index, name))
    alone = tuple((index, name) for name, starts in opened.items() for index in starts)
    return SlurEnds(tuple(pairs), alone, tuple(stops))


def _distance(start: Head, stop: Head) -> tuple[bool, bool]:
    """How strange it would be for a slur to lead from one head to the other."""
    return start.voice != stop.voice, start.staff != stop.staff


def join_slurs(heads: Sequence[Head], quarters: Callable[[int], Fraction]) -> list[Slur]:
    """Slurs from the starts and stops on `heads`; an end without its partner is left out.

    `quarters` turns ticks into quarters.
    """
    slurs = [
        Slur(
            heads[first].id,
            heads[last].id,
            quarters(heads[first].onset),
            quarters(heads[last].end),
            heads[first].staff,
        )
        for first, last, _ in match_slurs(heads).pairs
    ]
    return sorted(slurs, key=lambda s: (s.onset, s.end))
