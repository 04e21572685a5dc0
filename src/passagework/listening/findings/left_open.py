"""What the page leaves to the player, so that neither doing it nor leaving it out is a slip."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence

from passagework.listening.adornment import adorned, written_out
from passagework.listening.findings.lines import Line
from passagework.listening.heard import Heard
from passagework.score.piece import Note, sort_key

REACH = 4
"""Semitones round an ornamented note (or a grace note) within which its ornament's notes lie."""
BEFORE_S, AFTER_S = 0.35, 0.25
"""Seconds by which ornaments are begun before their beat and run on after their note."""
GRACE_S = 0.6
"""Seconds round a grace note within which its group is played freely."""

Zone = tuple[float, float, int, int]
"""From, to (seconds), lowest and highest key."""


class LeftOpen:
    """Answers which missing and extra notes are no slips."""

    def __init__(self, heard: Heard, lines: Sequence[Line | None]) -> None:
        self._heard, self._lines = heard, lines
        self._hidden = written_out(heard.piece)
        self._adorned = adorned(heard.piece)
        self._keys = _keys(heard)
        self._missing: dict[int, list[Note]] = defaultdict(list)
        for gone in heard.alignment.missing:
            self._missing[gone.run].append(heard.piece.by_id[gone.note])
        self._zones = [self._zones_of(run) for run in range(len(heard.alignment.passes))]
        self._ornamental = frozenset(getattr(heard.alignment, "ornamental", ()))

    def missing(self, run: int, ident: str) -> bool:
        """Whether nobody would miss this note."""
        note = self._heard.piece.by_id[ident]
        if not note.printed or note.grace or ident in self._hidden or ident in self._adorned:
            return True
        return self._elsewhere(run, note)

    def extra(self, run: int, index: int) -> bool:
        """Whether this stroke belongs to something that is played freely."""
        if index in self._ornamental:
            return True
        stroke = self._heard.take.notes[index]
        starts, zones, longest = self._zones[run]
        for k in range(
            bisect_left(starts, stroke.onset - longest), bisect_right(starts, stroke.onset)
        ):
            start, end, low, high = zones[k]
            if start <= stroke.onset <= end and low <= stroke.pitch <= high:
                return True
        return False

    def _elsewhere(self, run: int, note: Note) -> bool:
        """Whether another written note of the same key is struck with it, or still held: one key, one stroke."""
        struck = self._heard.struck[run]
        at = sort_key(note.onset)
        onsets, notes = self._keys[note.midi]
        for k in range(bisect_right(onsets, at) - 1, max(bisect_right(onsets, at) - 5, -1), -1):
            other = notes[k]
            if other.id == note.id:
                continue
            together = other.onset == note.onset
            if (together or other.end > note.onset) and other.id in struck:
                return True
        return False

    def _zones_of(self, run: int) -> tuple[list[float], list[Zone], float]:
        """Where in time and keys the player of a pass is free."""
        piece = self._heard.piece
        rows: list[Zone] = []
        for ident, stroke in self._heard.struck[run].items():
            rows += self._zone(run, piece.by_id[ident], stroke.onset)
        line = self._lines[run]
        if line is not None:
            for note in self._missing[run]:
                rows += self._zone(run, note, line.time(sort_key(note.onset)))
        rows.sort()
        longest = max((end - start for start, end, _, _ in rows), default=0.0)
        return [row[0] for row in rows], rows, longest

    def _zone(self, run: int, note: Note, onset: float) -> list[Zone]:
        low, high = note.midi - REACH, note.midi + REACH
        line = self._lines[run]
        if line is not None and (note.id in self._adorned or note.id in self._hidden):
            written = (sort_key(note.onset), sort_key(note.end))
            start, end = self._adorned.get(note.id, written)
            first, last = min(line.time(start), onset), max(line.time(end), onset)
            return [(first - BEFORE_S, last + AFTER_S, low, high)]
        if note.grace or not note.printed:
            return [(onset - GRACE_S, onset + GRACE_S, low, high)]
        return []


def _keys(heard: Heard) -> dict[int, tuple[list[float], list[Note]]]:
    """For every key its written notes in order, with their positions."""
    rows: dict[int, list[Note]] = defaultdict(list)
    for note in heard.piece.notes:
        rows[note.midi].append(note)
    return {key: ([sort_key(n.onset) for n in notes], notes) for key, notes in rows.items()}
