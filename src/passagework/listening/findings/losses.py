"""What a pass left out and what it added, before it is asked what belongs to what.

Not every difference from the page counts. Left out of account are: a note whose key another voice strikes or holds; what
an ornament, a tremolo or a grace note leaves to the player; notes that the page does not show; a key that bounces; trills; and the
chord at which a pass breaks off.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.listening.alignment import Match
from passagework.listening.findings.left_open import LeftOpen
from passagework.listening.findings.lines import Line, lines_of
from passagework.listening.findings.trills import without_trills
from passagework.listening.heard import Heard
from passagework.score.piece import Note

BOUNCE_S = 0.08
"""Seconds after a stroke within which the same key is no new note: a bouncing key or a contact that chatters."""


@dataclass(frozen=True)
class Losses:
    """The losses of one pass."""

    line: Line
    missing: tuple[Note, ...]
    """Written notes that were not recognised, in order."""
    extras: tuple[int, ...]
    """Indices of strokes that were not, in order."""

    @property
    def run(self) -> int:
        """Index of the pass."""
        return self.line.run


def read_losses(heard: Heard) -> tuple[Losses, ...]:
    """The losses of every pass that has two places or more."""
    lines = lines_of(heard)
    open_ = LeftOpen(heard, lines)
    extra_by_run = _runs_of_extras(heard)
    missing_by_run: dict[int, list[str]] = defaultdict(list)
    for gone in heard.alignment.missing:
        missing_by_run[gone.run].append(gone.note)
    found: list[Losses] = []
    for run, row in enumerate(heard.alignment.by_pass):
        line = lines[run]
        if line is None:
            continue
        extras = [k for k in extra_by_run.get(run, []) if not open_.extra(run, k)]
        extras = without_trills(heard.take, _without_bounces(heard, row, extras))
        missing = [
            heard.piece.by_id[i] for i in missing_by_run.get(run, ()) if not open_.missing(run, i)
        ]
        missing = _before_the_end(heard, run, row, missing)
        found.append(Losses(line, tuple(missing), tuple(extras)))
    return tuple(found)


def _runs_of_extras(heard: Heard) -> dict[int, list[int]]:
    """The extra strokes of each pass; one between two passes belongs to neither."""
    passes = heard.alignment.passes
    starts = [p.start for p in passes]
    found: dict[int, list[int]] = defaultdict(list)
    for index in heard.alignment.extra:
        onset = heard.take.notes[index].onset
        at = bisect_right(starts, onset) - 1
        if at >= 0 and onset <= passes[at].end:
            found[at].append(index)
    return found


def _without_bounces(heard: Heard, row: Sequence[Match], extras: Sequence[int]) -> list[int]:
    """`extras` without strokes that follow a matched one of the same key at once."""
    if not extras:
        return []
    keys: dict[int, list[float]] = defaultdict(list)
    for match in row:
        stroke = heard.stroke(match)
        keys[stroke.pitch].append(stroke.onset)
    found: list[int] = []
    for index in extras:
        stroke = heard.take.notes[index]
        onsets = keys.get(stroke.pitch, [])
        at = bisect_left(onsets, stroke.onset)
        near = [abs(stroke.onset - t) for t in onsets[max(at - 1, 0) : at + 1]]
        if not near or min(near) > BOUNCE_S:
            found.append(index)
    return found


def _before_the_end(
    heard: Heard, run: int, row: Sequence[Match], missing: Sequence[Note]
) -> list[Note]:
    """`missing` without the chord at which a pass breaks off, or in whose middle it begins."""
    onsets = [heard.note(m).onset for m in row]
    low, high = min(onsets), max(onsets)
    first, last = run == 0, run == len(heard.alignment.passes) - 1
    whole = heard.alignment.passes[run]
    begins = first and whole.first_bar == 0
    ends = last and whole.last_bar == len(heard.piece.bars) - 1
    return [n for n in missing if (n.onset > low or begins) and (n.onset < high or ends)]
