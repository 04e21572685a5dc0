"""What a pass left out and what it added, before it is asked what belongs to what.

Not every difference from the page counts. Left out of account are: a note whose key another voice strikes or holds; what
an ornament, a tremolo or a grace note leaves to the player; notes that the page does not show; a key that bounces; trills; and the
chord at which a pass breaks off.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from passagework.listening.alignment import Match
from passagework.listening.findings.left_open import LeftOpen
from passagework.listening.findings.lines import Line, lines_of
from passagework.listening.findings.trills import without_trills
from passagework.listening.heard import Heard
from passagework.score.piece import Note, sort_key

BOUNCE_S = 0.08
"""Seconds after a stroke within which the same key is no new note: a bouncing key or a contact that chatters."""

LATE_S, LATE_BEATS = 0.8, 1.5
"""Seconds, or beats where that is longer, by which a key may be struck early or late and still be the note that was left out."""
SAME_TIME_S = 0.09
"""Seconds within which a key struck is heard as struck at that time: two voices that meet on a key nearly together strike it once."""


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
        lost = [heard.piece.by_id[i] for i in missing_by_run.get(run, ())]
        missing = [n for n in lost if not open_.missing(run, n.id)]
        free = _unstruck(heard, line, extras, {n.id for n in missing})
        _, extras = out_of_time(heard, line, free, extras)
        missing = _silent_then(heard, line, _before_the_end(heard, run, row, missing))
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


def _unstruck(
    heard: Heard, line: Line, extras: Sequence[int], missing: Collection[str]
) -> list[Note]:
    """Notes written near the `extras`, for the same keys, that were not struck and that nobody would miss: the other voice of a
    unison, a note of an ornament. Who strikes them does no wrong.
    """
    struck = heard.struck[line.run]
    keys: dict[int, set[int]] = defaultdict(set)
    for index in extras:
        stroke = heard.take.notes[index]
        keys[line.bar(line.place(stroke.onset))].add(stroke.pitch)
    found: dict[str, Note] = {}
    for bar, pitches in keys.items():
        for near in range(max(bar - 1, 0), min(bar + 2, len(heard.piece.bars))):
            for note in heard.piece.notes_of_bar[near]:
                if note.midi in pitches and note.id not in struck and note.id not in missing:
                    found[note.id] = note
    return list(found.values())


def _silent_then(heard: Heard, line: Line, missing: Sequence[Note]) -> list[Note]:
    """`missing` without notes at whose time their key was struck, for whatever note the stroke is taken."""
    if not missing:
        return []
    keys: dict[int, list[float]] = defaultdict(list)
    for stroke in heard.take.notes:
        keys[stroke.pitch].append(stroke.onset)
    found: list[Note] = []
    for note in missing:
        due, onsets = line.time(sort_key(note.onset)), keys.get(note.midi, [])
        if bisect_left(onsets, due - SAME_TIME_S) == bisect_right(onsets, due + SAME_TIME_S):
            found.append(note)
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


def out_of_time(
    heard: Heard, line: Line, missing: Sequence[Note], extras: Sequence[int]
) -> tuple[list[Note], list[int]]:
    """Both lists without the notes that were struck after all, early or late: that is no matter of notes."""
    if not missing or not extras:
        return list(missing), list(extras)
    keys: dict[int, list[int]] = defaultdict(list)
    for index in extras:
        keys[heard.take.notes[index].pitch].append(index)
    offers: list[tuple[float, int, int]] = []
    for k, note in enumerate(missing):
        place = sort_key(note.onset)
        due, reach = line.time(place), LATE_BEATS * float(heard.piece.bars[note.bar].time.beat) / 2
        within = max(LATE_S, line.time(place + reach) - line.time(place - reach))
        for index in keys.get(note.midi, ()):
            off = abs(heard.take.notes[index].onset - due)
            if off <= within:
                offers.append((off, k, index))
    gone: set[int] = set()
    used: set[int] = set()
    for _, k, index in sorted(offers):
        if k not in gone and index not in used:
            gone.add(k)
            used.add(index)
    return [n for k, n in enumerate(missing) if k not in gone], [k for k in extras if k not in used]
