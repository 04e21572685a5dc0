"""Reads a MIDI file as a score: what it means is guessed, and every guess is said."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_BARS
from passagework.score.markup import Element
from passagework.score.metre import COMMON_TIME
from passagework.score.midi_beats import Clock, find_clock
from passagework.score.midi_file import ASSUMED_TEMPO, MidiData, read_midi
from passagework.score.midi_hands import share_hands
from passagework.score.midi_notation import Sheet, Span, write_sheet
from passagework.score.midi_rhythm import Grid, fit_grid
from passagework.score.midi_spelling import find_key
from passagework.score.midi_voices import Chord, deal_voices
from passagework.score.piece import Side, TimeSignature
from passagework.score.warnings import Warnings

SHORTEST = Fraction(1, 8)
"""Quarters of the shortest note written from a performance (a 32nd)."""

LONGEST = Fraction(32)
"""Quarters of the longest note believed; no piano sounds longer, and a key is forgotten sooner."""

MOST_QUARTERS = 8_000
"""Quarters of the longest file read: more than an hour at a walking pace."""

PEDAL_GRID = 4
"""Places in a quarter to which pedal changes are moved."""

TEMPO_STEP = 0.02
"""Share by which a tempo must change to be written."""

PLAIN_NAMES = frozenset({"", "piano", "right", "left", "right hand", "left hand", "rh", "lh"})


def midi_to_musicxml(data: bytes, warnings: Warnings) -> Element:
    """The root of a MusicXML document that writes down what the MIDI `data` plays.

    Raises `ScoreError` where there is nothing to write down.
    """
    midi = read_midi(data)
    if midi.cut_short:
        warnings.add("the MIDI file ends too early; what it holds until there is read")
    clock = find_clock(midi)
    start = 0.0 if clock.kind == "free" else _first_bar(midi, clock)
    onsets = [clock.quarters(note.onset) - start for note in midi.notes]
    if onsets[-1] > MOST_QUARTERS:
        raise ScoreError(
            "the MIDI file is longer than any piece", do="export one movement at a time"
        )
    grid = fit_grid(onsets, clock)
    sides, doubtful = share_hands(midi)
    _say(clock, doubtful, len(midi.notes), warnings)
    rows = _placed(midi, clock, grid, start)
    end = max(row[1] for row in rows)
    bars = _bars(midi, clock, start, end, rows, warnings)
    return write_sheet(
        Sheet(
            title=_title(midi),
            bars=bars,
            voices=[_voices(rows, sides, side, clock) for side in ("right", "left")],
            tempos=_tempos(midi, clock, start),
            pedal=_pedal(midi, clock, start, bars[-1].onset + bars[-1].length),
        )
    )


def _say(clock: Clock, doubtful: int | None, notes: int, warnings: Warnings) -> None:
    if clock.kind == "typed":
        warnings.add(
            "read from MIDI: spelling, voices, rests and ties are a reading of the notes' times"
        )
    elif clock.kind == "click":
        warnings.add(
            "read from MIDI that was played to a beat: the rhythm is quantised, and is a reading of "
            "a performance; spelling, voices and rests are guessed"
        )
    else:
        warnings.add(
            "read from MIDI that was played freely: beats, bar lines and rhythm are guessed from the "
            "performance, and the bars will not be the printed ones"
        )
    if doubtful is not None:
        share = f"; {doubtful:,} of {notes:,} notes are doubtful" if doubtful else ""
        warnings.add(f"which hand plays each note is a guess: the file does not say{share}")
    else:
        warnings.add("the hands are taken from the tracks of the file")


def _first_bar(midi: MidiData, clock: Clock) -> float:
    """Quarters of silence in whole bars before the first note, which are not written."""
    first = midi.notes[0].onset
    rows = [(t, n, d) for t, n, d in midi.times if t <= first]
    at, beats, kind = rows[-1] if rows else (0, 4, 4)
    if len({row[1:] for row in rows}) > 1:
        return 0.0  # what changes metre before the first note counts bars for a reason
    length = 4 * beats / kind
    empty = int((clock.quarters(first - at) + 1e-9) // length)
    return clock.quarters(at) + empty * length if empty >= 1 else 0.0


def _placed(
    midi: MidiData, clock: Clock, grid: Grid, start: float
) -> list[tuple[Fraction, Fraction, int]]:
    """(onset, end, pitch) of each note, in quarters on the grid."""
    rows = []
    tolerance = 1 / clock.per_quarter
    for note in midi.notes:
        onset = grid.place(clock.quarters(note.onset) - start)
        if clock.kind == "typed":
            end = _typed_end(clock.quarters(note.end) - start, grid, tolerance)
            end = end if end > onset else onset + Fraction(1, 16)
        else:
            end = max(grid.place(clock.quarters(note.end) - start), onset + SHORTEST)
        rows.append((max(onset, Fraction(0)), min(end, onset + LONGEST), note.midi))
    return rows


def _typed_end(quarters: float, grid: Grid, tolerance: float) -> Fraction:
    """Where a typed note ends: on the grid of onsets, on a plain division, or a tick before one."""
    for place in (
        grid.place(quarters),
        *(Fraction(round(quarters * k), k) for k in (1, 2, 4, 3, 8, 6)),
    ):
        if abs(float(place) - quarters) <= 2 * tolerance:
            return place
    return Fraction(round(quarters * 16), 16)


def _voices(
    rows: Sequence[tuple[Fraction, Fraction, int]], sides: Sequence[Side], side: str, clock: Clock
) -> list[list[Chord]]:
    own = sorted(row for row, hand in zip(rows, sides, strict=True) if hand == side)
    return deal_voices(own, loose=clock.kind != "typed") or [[]]


def _bars(
    midi: MidiData,
    clock: Clock,
    start: float,
    end: Fraction,
    rows: Sequence[tuple[Fraction, Fraction, int]],
    warnings: Warnings,
) -> list[Span]:
    times = _metres(midi, clock, start, warnings)
    keys = _keys(midi, clock, start, rows, warnings)
    bars: list[Span] = []
    at = Fraction(0)
    now: TimeSignature | None = None
    key = -1
    while at < end and len(bars) < MAX_BARS:
        place = bisect_right([row[0] for row in times], at) - 1
        metre = times[max(place, 0)][1]
        length = metre.length
        if place + 1 < len(times) and at < times[place + 1][0] < at + length:
            length = times[place + 1][0] - at
        newest = max(bisect_right([row[0] for row in keys], at) - 1, 0)
        _, fifths, mode = keys[newest]
        bars.append(Span(at, length, metre, metre != now, fifths, mode if newest != key else None))
        now, key = metre, newest
        at += length
    return bars


def _metres(
    midi: MidiData, clock: Clock, start: float, warnings: Warnings
) -> list[tuple[Fraction, TimeSignature]]:
    """Metres and where they begin; common time where the file has none or was played freely."""
    if not midi.times or clock.kind == "free":
        warnings.add("bar lines are counted in common time: the file gives no metre to go by")
        return [(Fraction(0), replace(COMMON_TIME, printed=True))]
    metres: dict[Fraction, TimeSignature] = {}
    for tick, beats, kind in midi.times:
        at = max(Fraction(round((clock.quarters(tick) - start) * 8), 8), Fraction(0))
        metres[at] = TimeSignature((beats,), kind)
    first = min(metres)
    if first > 0:
        metres[Fraction(0)] = metres[first]
    return sorted(metres.items(), key=lambda row: row[0])


def _keys(
    midi: MidiData,
    clock: Clock,
    start: float,
    rows: Sequence[tuple[Fraction, Fraction, int]],
    warnings: Warnings,
) -> list[tuple[Fraction, int, str]]:
    """Signatures and where they begin: the file's, unless it only has the one that is always written."""
    stated = [(max(Fraction(round((clock.quarters(t) - start) * 4), 4), Fraction(0)), f, m)
              for t, f, m in midi.keys]  # fmt: skip
    if any(fifths for _, fifths, _ in stated):
        return [(Fraction(0), 0, "major"), *stated] if stated[0][0] > 0 else stated
    weights = [0.0] * 12
    for onset, end, pitch in rows:
        weights[pitch % 12] += float(end - onset)
    fifths, mode = find_key(weights)
    warnings.add("the key signature is a guess from the notes")
    return [(Fraction(0), fifths, mode)]


def _tempos(midi: MidiData, clock: Clock, start: float) -> list[tuple[Fraction, float]]:
    if clock.kind == "free":
        return [(Fraction(0), 60 / clock.seconds_to_beat)]
    rows: list[tuple[Fraction, float]] = []
    for tick, tempo in midi.tempos or [(0, ASSUMED_TEMPO)]:
        rate = 60e6 / tempo
        at = max(Fraction(round((clock.quarters(tick) - start) * 4), 4), Fraction(0))
        if rows and at == rows[-1][0]:
            rows.pop()
        if not rows or abs(rate / rows[-1][1] - 1) > TEMPO_STEP:
            rows.append((at, rate))
    return rows


def _pedal(
    midi: MidiData, clock: Clock, start: float, end: Fraction
) -> list[tuple[Fraction, bool]]:
    """Changes of the damper, down and up by turns, the ones between left out."""
    rows: list[tuple[Fraction, bool]] = []
    for tick, down in midi.pedal:
        quarters = clock.quarters(tick) - start
        at = min(max(Fraction(round(quarters * PEDAL_GRID), PEDAL_GRID), Fraction(0)), end)
        if down == (bool(rows) and rows[-1][1]):
            continue
        if rows and rows[-1][0] == at and not down:
            rows.pop()
            continue
        rows.append((at, down))
    return rows


def _title(midi: MidiData) -> str:
    """The name of the first track, where it is not the name of a hand or an instrument."""
    name = midi.names.get(0, "")
    named = any(note.track == 0 for note in midi.notes)
    return "" if named or name.lower() in PLAIN_NAMES else name
