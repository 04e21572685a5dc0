"""Where two divisions of one span stand against each other, note by note, as they were played.

A clash is `passagework.spots.polyrhythm`'s: a span that the two lines divide into numbers neither of which divides the other. The placement of a
note is the time from the start of the span to its attack, over the time of the span.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from passagework.listening.beat import OwnBeat
from passagework.listening.beat_groups import Group, is_spread
from passagework.listening.heard import Heard
from passagework.score.piece import Note, Side
from passagework.spots.context import Context
from passagework.spots.polyrhythm import Clash, Division


@dataclass(frozen=True, slots=True)
class Placed:
    """One line of a clash as it was played."""

    run: int
    bar: int
    side: Side
    ratio: tuple[int, int]
    """The two numbers, the larger first."""
    parts: int
    """The number of this line."""
    struck: tuple[int, ...]
    """Which of the parts are struck."""
    notes: tuple[tuple[Note, ...], ...]
    places: tuple[float, ...]
    """Placement of each struck part, 0 to 1 of the span."""
    seconds: float
    """Length of the span."""
    phase: int
    """Ticks from the beat to the start of the span."""

    @property
    def departures(self) -> tuple[float, ...]:
        """Placement less the written one."""
        return tuple(p - k / self.parts for p, k in zip(self.places, self.struck, strict=True))

    @property
    def lengthened(self) -> tuple[float, ...]:
        """Share of the span from each note to the next (the last to the end) less the written one."""
        ends = (*self.departures[1:], 0.0)
        return tuple(e - d for d, e in zip(self.departures, ends, strict=True))


def find_placed(
    heard: Heard,
) -> dict[tuple[Side, tuple[int, int], int, tuple[int, ...], int], list[Placed]]:
    """Both lines of every clash that was played whole, by hand, ratio, number, parts struck and place in the beat; in order of time."""
    clashes = heard.clashes
    found: dict[tuple[Side, tuple[int, int], int, tuple[int, ...], int], list[Placed]] = (
        defaultdict(list)
    )
    for run, beat in enumerate(heard.beats):
        if beat is None:
            continue
        at = {g.tick: g for g in beat.struck}
        paused = sorted(beat.groups[s.index].tick for s in beat.steps)
        for bar in sorted({g.bar for g in beat.struck}):
            for clash in clashes.get(bar, ()):
                if any(clash.start < t <= clash.start + clash.length for t in paused):
                    continue
                for placed in _both(heard.context, run, bar, clash, at, beat):
                    found[
                        placed.side, placed.ratio, placed.parts, placed.struck, placed.phase
                    ].append(placed)
    return found


def stands_against(heard: Heard) -> Callable[[int, float, float], bool]:
    """Whether a stretch of a bar (its index, start and end in quarters) has part in a clash."""
    per_quarter = heard.piece.ticks_per_quarter
    spans = {
        bar: [(c.start / per_quarter, (c.start + c.length) / per_quarter) for c in row]
        for bar, row in heard.clashes.items()
    }

    def against(bar: int, start: float, end: float) -> bool:
        return any(low < end and start < high for low, high in spans.get(bar, ()))

    return against


def _both(
    context: Context, run: int, bar: int, clash: Clash, at: dict[int, Group], beat: OwnBeat
) -> Iterator[Placed]:
    for division in (clash.more, clash.fewer):
        placed = _placed(context, run, bar, clash, division, at, beat)
        if placed is not None:
            yield placed


def _placed(
    context: Context,
    run: int,
    bar: int,
    clash: Clash,
    division: Division,
    at: dict[int, Group],
    beat: OwnBeat,
) -> Placed | None:
    per_quarter = context.piece.ticks_per_quarter
    end = clash.start + clash.length
    opens = _time(at.get(clash.start), division.side, beat, clash.start / per_quarter)
    shuts = _time(at.get(end), division.side, beat, end / per_quarter)
    if opens is None or shuts is None or shuts <= opens:
        return None
    times: list[float] = []
    for attack in division.attacks:
        group = at.get(attack.tick)
        ids = set(attack.ids)
        row = [s for s in group.strokes if s.note.id in ids] if group else []
        if not row or any(is_spread(s.note) for s in row):
            return None
        times.append(sum(s.played.onset for s in row) / len(row))
    places = tuple((t - opens) / (shuts - opens) for t in times)
    notes = tuple(a.notes for a in division.attacks)
    written = context.bar(bar)
    phase = (clash.start - context.piece.ticks(written.onset)) % max(
        context.piece.ticks(written.time.beat), 1
    )
    return Placed(
        run, bar, division.side, clash.ratio, division.parts, division.struck, notes, places, shuts - opens, phase
    )  # fmt: skip


def _time(group: Group | None, side: Side, beat: OwnBeat, position: float) -> float | None:
    """Second of a boundary: the hand's own attack there, else the other's, else the beat's."""
    if group is None:
        return beat.seconds(position)
    if group.loose:
        return None
    own = group.onset_of(side)
    return own if own is not None else group.seconds
