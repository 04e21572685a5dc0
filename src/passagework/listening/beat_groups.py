"""What was struck together: the onset groups of a pass, which carry the student's own beat.

Conventions
-----------
* A *group* holds the strokes of all notes that are written at one position. Its time is the median of its strokes, so
  that one finger that comes early or late does not move it.
* Grace notes, and the second note of a tremolo between two, belong to no group: the page
  does not say when they are struck. A rolled chord, a trill or another sign that spreads a
  note over time makes a group *loose*: it is kept, and weighs little.
* The beat rests on groups that go forward in time as they do on the page; the fewest that break this order carry none of it (a
  longest increasing subsequence): slips of the alignment, or a note that was played after one that is written later.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from passagework.listening.take import PlayedNote
from passagework.score.piece import Note, Piece, Side, sort_key

LOOSE = 0.1
"""Weight of a group whose sign spreads it over time, against 1 for a plain one."""

SPREAD = 0.04
"""Seconds of spread at which a chord tells half as exactly when it was meant. Unmarked chords of concert pianists
spread by some 10 to 30 ms (Goebl, 2001)."""

FEWEST = 3
"""Groups below which there is no beat to speak of."""

SPREADING = frozenset(
    {"trill-mark", "shake", "wavy-line", "tremolo", "turn", "delayed-turn", "inverted-turn", "mordent", "inverted-mordent"}
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Stroke:
    """A written note and what was played for it."""

    note: Note
    played: PlayedNote


@dataclass(frozen=True, slots=True)
class Group:
    """All strokes written at one position."""

    tick: int
    """Position in ticks of the piece."""
    position: float
    """The same in quarters."""
    bar: int
    seconds: float
    """Median onset."""
    first: float
    """Earliest stroke, grace notes before it included, and the latest."""
    last: float
    weight: float
    """How exactly it tells the beat, 0 to 1."""
    strokes: tuple[Stroke, ...]
    loose: bool
    """Whether a sign or a grace note spreads it over time."""

    def of_hand(self, side: Side) -> tuple[Stroke, ...]:
        """The strokes of one hand."""
        return tuple(s for s in self.strokes if s.note.hand == side)

    def onset_of(self, side: Side) -> float | None:
        """Median onset of one hand's strokes in seconds; None where it plays nothing."""
        row = [s.played.onset for s in self.strokes if s.note.hand == side]
        return median(row) if row else None


def is_spread(note: Note) -> bool:
    """Whether a sign at the note spreads its attack over time: a roll, a trill, a turn ..."""
    return note.arpeggio in ("up", "down") or any(o.kind in SPREADING for o in note.ornaments)


def onset_groups(piece: Piece, struck: Mapping[str, PlayedNote]) -> tuple[Group, ...]:
    """The groups of one pass in order; `struck` gives the stroke of each written note by its id."""
    rows: dict[int, list[Stroke]] = {}
    graces: dict[int, list[float]] = {piece.ticks(n.onset): [] for n in piece.notes if n.grace}
    for ident, played in struck.items():
        note = piece.by_id[ident]
        if note.grace:
            graces[piece.ticks(note.onset)].append(played.onset)
        elif note.printed and not any(o.role == "stop" for o in note.ornaments):
            rows.setdefault(piece.ticks(note.onset), []).append(Stroke(note, played))
    groups = [_group(tick, row, graces.get(tick)) for tick, row in sorted(rows.items())]
    return tuple(groups)


def _group(tick: int, row: list[Stroke], graces: Sequence[float] | None) -> Group:
    row.sort(key=lambda s: s.note.midi)
    onsets = [s.played.onset for s in row]
    spread = max(onsets) - min(onsets)
    weight = 1.0 / (1.0 + (spread / SPREAD) ** 2)
    loose = graces is not None or any(is_spread(s.note) for s in row)
    first = row[0].note
    return Group(
        tick,
        sort_key(first.onset),
        first.bar,
        median(onsets),
        min([*onsets, *(graces or ())]),
        max(onsets),
        min(weight, LOOSE) if loose else weight,
        tuple(row),
        loose,
    )


def forward(groups: Sequence[Group]) -> tuple[Group, ...]:
    """The most groups whose times increase."""
    tails: list[float] = []
    at: list[int] = []
    before: list[int] = []
    for index, group in enumerate(groups):
        place = bisect_left(tails, group.seconds)
        before.append(at[place - 1] if place else -1)
        if place == len(tails):
            tails.append(group.seconds)
            at.append(index)
        else:
            tails[place], at[place] = group.seconds, index
    kept: list[Group] = []
    index = at[-1] if at else -1
    while index >= 0:
        kept.append(groups[index])
        index = before[index]
    return tuple(kept[::-1])
