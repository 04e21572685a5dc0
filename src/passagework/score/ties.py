"""Joins tied noteheads into the notes that sound."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from passagework.score.warnings import Warnings


@dataclass(slots=True)
class Head:
    """What tying needs to know of one notehead."""

    onset: Fraction
    duration: Fraction
    midi: int
    voice: str
    staff: int
    bar_number: str
    starts: bool
    stops: bool
    grace: bool
    excused: bool
    """A tie into an ending or out of a repeat: its other side stands elsewhere on the page."""


def join_ties(heads: Sequence[Head], warnings: Warnings) -> list[list[int]]:
    """Groups of indices into `heads`, each one sounding note, its first head first.

    A tie leads to the next head of the same sound that begins where this one ends, the same voice
    preferred. Ties that lead nowhere are reported and ignored.
    """
    order = sorted(range(len(heads)), key=lambda i: (heads[i].onset, not heads[i].grace))
    opened: dict[int, list[list[int]]] = {}
    groups: list[list[int]] = []
    for index in order:
        head = heads[index]
        group = _continued(opened, heads, head) if head.stops else None
        if group is None:
            group = [index]
            groups.append(group)
            if head.stops and not head.excused:
                warnings.add("a tie comes from nowhere and is ignored", head.bar_number)
        else:
            group.append(index)
        if head.starts:
            opened.setdefault(head.midi, []).append(group)
    for rows in opened.values():
        for group in rows:
            last = heads[group[-1]]
            if not last.excused:
                warnings.add("a tie leads nowhere and is ignored", last.bar_number)
    return groups


def _continued(
    opened: dict[int, list[list[int]]], heads: Sequence[Head], head: Head
) -> list[int] | None:
    """The open group that `head` continues, taken out of `opened`."""
    rows = opened.get(head.midi, [])
    fitting = [g for g in rows if _meets(heads[g[-1]], head)]
    if not fitting:
        return None
    same = [g for g in fitting if heads[g[-1]].voice == head.voice]
    near = [g for g in fitting if heads[g[-1]].staff == head.staff]
    group = (same or near or fitting)[0]
    rows.remove(group)
    return group


def _meets(last: Head, head: Head) -> bool:
    if last.grace:
        return last.onset == head.onset and not head.grace
    return last.onset + last.duration == head.onset
