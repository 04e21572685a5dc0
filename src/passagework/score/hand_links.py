"""What ties a note to an earlier one when hands are searched for: lines, repeated keys, figures."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

NEAR = 13
"""Semitones from which two notes no longer sound as one line: more than an octave."""

GAP = 0.3
"""Quarters between the end of a note and the next of its line: a staccato, or a finger lifted early."""

LATE = 0.13
"""Quarters that a finger may stay on a key after the line has gone on."""

LOOKED_BACK = 10
"""Groups of notes looked back for the note that a line comes from."""

MOST_STRUCK = 20
"""Notes of one group that a line may come from."""

FIGURE_MOST = 24
"""Groups in the longest figure that is looked for."""

FIGURE_AROUND = 3
"""Groups before and after that must be alike for a figure to have come back."""

FIGURE_MOVED = 8
"""Semitones that a figure may have moved since it came last."""

AGAIN = 4.0
"""Quarters within which a key struck again is still the same hand's."""

ALIKE = 1.5
"""Ratio of lengths up to which two notes of a line are alike."""


class Heard(NamedTuple):
    """A note for the search. Times are quarters; `left` and `right` are what it costs beforehand to give
    it to that hand.
    """

    onset: float
    end: float
    midi: int
    left: float = 0.0
    right: float = 0.0


class Link(NamedTuple):
    """An earlier note that speaks for the same hand; `kind` is ``line``, ``again`` or ``figure``."""

    note: int
    kind: str
    strength: float


def find_links(notes: Sequence[Heard], groups: Sequence[Sequence[int]]) -> list[list[Link]]:
    """For each note the earlier ones that it goes on from; `groups` are the notes struck together."""
    links: list[list[Link]] = [[] for _ in notes]
    last: dict[int, int] = {}
    for place, group in enumerate(groups):
        before = [i for g in groups[max(0, place - LOOKED_BACK) : place] for i in g[-MOST_STRUCK:]]
        for j in group:
            note = notes[j]
            line = _line(notes, before, note)
            if line is not None:
                links[j].append(line)
            same = last.get(note.midi)
            if same is not None and note.onset - notes[same].onset <= AGAIN:
                links[j].append(Link(same, "again", 1.0))
        for j in group:
            last[notes[j].midi] = j
    _figures(notes, groups, links)
    return links


def _line(notes: Sequence[Heard], before: Sequence[int], note: Heard) -> Link | None:
    best: tuple[float, int] | None = None
    for i in before:
        earlier = notes[i]
        gap = note.onset - earlier.end
        if -LATE <= gap <= GAP and earlier.onset < note.onset:
            far = abs(note.midi - earlier.midi) + 10 * abs(gap)
            length, other = note.end - note.onset, earlier.end - earlier.onset
            if not length <= ALIKE * other <= ALIKE * ALIKE * length:
                far += 4
            if best is None or far < best[0]:
                best = (far, i)
    if best is None or best[0] >= NEAR:
        return None
    return Link(best[1], "line", 1 - best[0] / NEAR)


def _figures(
    notes: Sequence[Heard], groups: Sequence[Sequence[int]], links: list[list[Link]]
) -> None:
    """Link each group to the nearest one before it that lies in the same place of the same figure.

    A figure has come back where the groups before both are alike in the number of notes, the distance in time
    and the direction from each to the next.
    """
    shapes: dict[tuple[tuple[int, int, int], ...], int] = {}
    steps: list[tuple[int, int, int]] = []
    for place, group in enumerate(groups):
        if place:
            earlier = groups[place - 1]
            rise = notes[group[-1]].midi - notes[earlier[-1]].midi
            time = round(8 * (notes[group[0]].onset - notes[earlier[0]].onset))
            steps.append((len(group), time, (rise > 0) - (rise < 0)))
        else:
            steps.append((len(group), 0, 0))
    for place, group in enumerate(groups):
        if place < FIGURE_AROUND or place + FIGURE_AROUND >= len(groups):
            continue
        shape = tuple(steps[place - FIGURE_AROUND : place + FIGURE_AROUND + 1])
        same = shapes.get(shape)
        shapes[shape] = place
        if same is None or place - same > FIGURE_MOST:
            continue
        for a, b in zip(groups[same], group, strict=True):
            if abs(notes[a].midi - notes[b].midi) < FIGURE_MOVED:
                links[b].append(Link(a, "figure", 1.0))
