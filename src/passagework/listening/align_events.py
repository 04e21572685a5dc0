"""The piece as the aligner sees it: events in written order, and the keys to be struck at each.

An *event* is all that begins at one position, a *unit* one key to be struck there; it holds more than one note where two voices share
the key. Two things of the page are not in time, and no path is led along them:

* a trill or tremolo that is written out (`find_shakes`) is as fast as the player likes. Its strokes are *loose* units of the
  event before, where other notes keep the time;
* up to `MOST_GRACES` grace notes belong to the event that they lean on; more make a cadenza of events of their own.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from passagework.score.piece import Note, Piece

KEYS = 128
"""Keys that MIDI numbers."""

MOST_GRACES = 8
"""Grace notes that are struck as one gesture with their note; a written-out turn or slide has four or five."""

CADENZA_STEP = 1 / 8
"""Quarters between the notes of a cadenza, at most: only to draw lines of time through."""

SHAKE_STROKES = 6
"""Alternations from which two keys in turn are a shake: a written turn has four or five."""

SHAKE_VALUE = 1 / 6
"""Quarters: the longest note of a shake of neighbouring keys."""

TREMOLO_VALUE = 1 / 8
"""Quarters: the longest note of a tremolo of keys further apart."""

TOUCH = 1e-6
"""Quarters that floats of equal positions may differ by."""

SHAKE_WIDTH = 2
"""Semitones of a trill."""

UPPER = {"trill-mark", "shake", "wavy-line", "inverted-mordent", "turn", "inverted-turn", "delayed-turn", "delayed-inverted-turn", "haydn", "schleifer"}  # fmt: skip
LOWER = {"trill-mark", "mordent", "turn", "inverted-turn", "delayed-turn", "delayed-inverted-turn", "haydn", "schleifer"}  # fmt: skip
"""Ornaments (MusicXML names) that strike the key above, or below, the written note; a trill may end below it."""

LONG = 1
"""Quarters: the shortest note on which a trill that no sign asks for is thought of."""

LASTING = {"trill-mark", "shake", "wavy-line", "tremolo"}
"""Ornaments that go on for as long as the note."""


@dataclass(slots=True)
class Unit:
    """One key to be struck at one event."""

    event: int
    pitch: int
    notes: list[Note]
    quarters: float
    """Position: the event's, but for a loose unit."""
    grace: int = 0
    """0 for a note in time; else the place among the grace notes before the event, counted back from it."""
    loose: bool = False

    @property
    def right(self) -> bool:
        """Whether the right hand has it (or a share in it)."""
        return any(note.hand == "right" for note in self.notes)

    @property
    def left(self) -> bool:
        """Whether the left hand has it (or a share in it)."""
        return any(note.hand == "left" for note in self.notes)


@dataclass(slots=True)
class Event:
    """All that begins at one position."""

    index: int
    quarters: float
    bar: int
    units: list[Unit] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Shaken:
    """Keys that an ornament, or a shake that is written out, strikes freely for a while."""

    first: int
    """Events from and to, both included."""
    last: int
    keys: tuple[int, ...]
    hand: str
    start: float
    end: float
    """Quarters."""


def find_shakes(piece: Piece) -> list[list[Note]]:
    """Trills and tremolos written out: two keys (or chords) in turn, quickly, in one voice."""
    voices: dict[tuple[int, str], list[list[Note]]] = defaultdict(list)
    for note in piece.notes:
        if note.grace:
            continue
        row = voices[(note.staff, note.voice)]
        if row and row[-1][0].onset == note.onset:
            row[-1].append(note)
        else:
            row.append([note])
    found = []
    for row in voices.values():
        chords = [_Chord.of(notes) for notes in row]
        start = 0
        while start + SHAKE_STROKES <= len(chords):
            stop = _shake_end(chords, start)
            if stop - start >= SHAKE_STROKES:
                found.append([note for chord in row[start:stop] for note in chord])
                start = stop
            else:
                start = max(stop - 1, start + 1)
    return found


@dataclass(frozen=True, slots=True)
class _Chord:
    """What one voice strikes at once; quarters."""

    keys: frozenset[int]
    lowest: int
    start: float
    length: float

    @classmethod
    def of(cls, notes: Sequence[Note]) -> _Chord:
        keys = _keys(notes)
        longest = max(float(n.duration) for n in notes)
        return cls(keys, min(keys), float(notes[0].onset), longest)


def _shake_end(row: Sequence[_Chord], start: int) -> int:
    """One past the last chord that goes on with the alternation that begins at `start`."""
    stop = start + 1
    while stop < len(row):
        chord, before = row[stop], row[stop - 1]
        wide = abs(chord.lowest - before.lowest) > SHAKE_WIDTH
        if before.length > (TREMOLO_VALUE if wide else SHAKE_VALUE) + TOUCH:
            break
        if abs(before.start + before.length - chord.start) > TOUCH or chord.keys == before.keys:
            break
        if stop > start + 1 and chord.keys != row[stop - 2].keys:
            break
        stop += 1
    return stop


def _keys(chord: Sequence[Note]) -> frozenset[int]:
    return frozenset(n.midi for n in chord)


def events_of(piece: Piece, shakes: Sequence[Sequence[Note]]) -> list[Event]:
    """Events in written order; `shakes` are those of `find_shakes`."""
    loose = {note.id for shake in shakes for note in shake if note.onset > shake[0].onset}
    ticks: dict[int, list[Note]] = defaultdict(list)
    for note in piece.notes:
        ticks[piece.ticks(note.onset)].append(note)
    events: list[Event] = []
    for _, notes in sorted(ticks.items()):
        graces = [note for note in notes if note.grace]
        if len(graces) > MOST_GRACES:
            _cadenza(events, graces)
            graces = []
        _at_one_position(events, graces, [n for n in notes if not n.grace], loose)
    return events


def _at_one_position(
    events: list[Event], graces: Sequence[Note], notes: Sequence[Note], loose: set[str]
) -> None:
    firm = [note for note in notes if note.id not in loose]
    if firm or graces or (notes and not events):
        first = (firm or notes or graces)[0]
        events.append(Event(len(events), float(first.onset), first.bar))
    for back, note in enumerate(reversed(graces)):
        _strike(events[-1], note, grace=back + 1)
    for note in notes:
        _strike(events[-1], note, loose=note.id in loose)


def _cadenza(events: list[Event], graces: Sequence[Note]) -> None:
    """An event for each grace note (or chord of them), crowded before their position."""
    chords: list[list[Note]] = []
    for note in graces:
        if chords and chords[-1][0].chord == note.chord and note.chord:
            chords[-1].append(note)
        else:
            chords.append([note])
    end = float(graces[0].onset)
    room = end - events[-1].quarters if events else len(chords) * CADENZA_STEP
    step = min(CADENZA_STEP, room / (len(chords) + 1))
    for back, chord in zip(range(len(chords), 0, -1), chords, strict=True):
        events.append(Event(len(events), end - back * step, chord[0].bar))
        for note in chord:
            _strike(events[-1], note)


def _strike(event: Event, note: Note, *, grace: int = 0, loose: bool = False) -> None:
    at = float(note.onset) if loose else event.quarters
    for unit in event.units:
        if unit.pitch == note.midi and unit.quarters == at and not unit.grace and not grace:
            unit.notes.append(note)
            return
    event.units.append(Unit(event.index, note.midi, [note], at, grace, loose))


def shaken(piece: Piece, events: Sequence[Event], shakes: Sequence[Sequence[Note]]) -> list[Shaken]:
    """Where keys are struck freely: shakes that are written out, and ornaments by their signs."""
    starts = [event.quarters for event in events]
    found = []
    for shake in shakes:
        start, end = float(shake[0].onset), float(shake[-1].end)
        keys = tuple(sorted(_keys(shake)))
        found.append(_span(starts, start, end, keys, shake[0].hand))
    for note in piece.notes:
        if not note.ornaments:
            continue
        kinds = {o.kind for o in note.ornaments}
        keys = (note.midi, *ornament_keys(note))
        if kinds & LASTING:
            found.append(_span(starts, float(note.onset), float(note.end), keys, note.hand))
        elif len(keys) > 1:
            span = _span(starts, float(note.onset), float(note.onset), keys, note.hand)
            found.append(replace(span, end=float(note.end)))
    return found


def unasked(piece: Piece, events: Sequence[Event]) -> list[Shaken]:
    """Long notes on which players trill, by custom or because the file lost the sign."""
    starts = [event.quarters for event in events]
    return [
        _span(
            starts,
            float(n.onset),
            float(n.end),
            tuple(range(n.midi, min(n.midi + 3, KEYS))),
            n.hand,
        )
        for n in piece.notes
        if n.duration >= LONG and not n.ornaments
    ]


def early(events: Sequence[Event]) -> list[Shaken]:
    """Grace notes, which may be struck while the event before is still being played."""
    return [
        Shaken(max(event.index - 1, 0), event.index, (unit.pitch,), unit.notes[0].hand, 0.0, 0.0)
        for event in events
        for unit in event.units
        if unit.grace
    ]


def _span(
    starts: list[float], start: float, end: float, keys: tuple[int, ...], hand: str
) -> Shaken:
    first = bisect_right(starts, start) - 1
    last = max(first, bisect_left(starts, end) - 1)
    return Shaken(max(first, 0), max(last, 0), keys, hand, start, end)


def ornament_keys(note: Note) -> list[int]:
    """Keys beside the written one that its ornaments may strike."""
    kinds = {o.kind for o in note.ornaments}
    steps = [1, 2] * bool(kinds & UPPER) + [-1, -2] * bool(kinds & LOWER)
    return [note.midi + step for step in steps if 0 <= note.midi + step < KEYS]
