"""Writes the MusicXML tree of a reading of a MIDI file: two staves, voices, ties, tuplets, beams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm

from lxml import etree

from passagework.score.markup import Element
from passagework.score.midi_spelling import spell
from passagework.score.midi_values import Value, cut
from passagework.score.midi_voices import Chord
from passagework.score.piece import TimeSignature

CLEFS = {"G": ("G", "2"), "F": ("F", "4")}

CLEF_UP, CLEF_DOWN = 69, 52
"""Mean pitch of a bar from which a bass clef gives way to a treble clef, and the reverse: beyond it
the notes would stand on three ledger lines and more."""

CLEF_BARS = 2
"""Bars in a row that must want another clef before it changes."""

CLEF_AHEAD = 8
"""Bars looked ahead for them, where a hand rests."""

FLAGS = {
    "eighth": 1,
    "16th": 2,
    "32nd": 3,
    "64th": 4,
    "128th": 5,
    "256th": 6,
    "512th": 7,
    "1024th": 8,
}


@dataclass(frozen=True, slots=True)
class Span:
    """A bar to be written: its place and length in quarters, and what changes with it."""

    onset: Fraction
    length: Fraction
    time: TimeSignature
    new_time: bool
    fifths: int
    new_key: str | None
    """The mode, where a signature stands at this bar; None where none does."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that is to be written."""

    title: str
    bars: Sequence[Span]
    voices: Sequence[Sequence[Sequence[Chord]]]
    """For each staff from above its voices."""
    tempos: Sequence[tuple[Fraction, float]] = ()
    """(position, quarters a minute)."""
    pedal: Sequence[tuple[Fraction, bool]] = ()


@dataclass(slots=True)
class _Slot:
    """A value in one bar of one voice, with the pitches that stand there (none: a rest)."""

    value: Value
    pitches: tuple[int, ...]
    tie_stop: bool = False
    tie_start: bool = False
    beams: list[str] = field(default_factory=list)
    tuplet: str = ""


def write_sheet(sheet: Sheet) -> Element:
    """The tree of `sheet`."""
    root = etree.Element("score-partwise", version="4.0")
    if sheet.title:
        etree.SubElement(etree.SubElement(root, "work"), "work-title").text = sheet.title
    part_list = etree.SubElement(root, "part-list")
    score_part = etree.SubElement(part_list, "score-part", id="P1")
    etree.SubElement(score_part, "part-name").text = "Piano"
    part = etree.SubElement(root, "part", id="P1")
    slots = [[_slots_by_bar(sheet, voice) for voice in staff] for staff in sheet.voices]
    clefs = [_clefs(rows, "GF"[min(n, 1)]) for n, rows in enumerate(_pitches(sheet, slots))]
    found = {s.value.length for staff in slots for v in staff for bar in v for s in bar}
    found |= {bar.length for bar in sheet.bars} | {at for at, _ in sheet.tempos}
    found |= {at for at, _ in sheet.pedal} | {Fraction(1, 4)}
    divisions = lcm(*{value.denominator for value in found})
    writer = _Writer(sheet, divisions)
    for index, bar in enumerate(sheet.bars):
        measure = etree.SubElement(part, "measure", number=str(index + 1))
        writer.attributes(measure, index, [row[index] for row in clefs])
        writer.directions(measure, bar)
        first = True
        for staff, rows in enumerate(slots):
            for voice, row in enumerate(rows):
                if not row[index] and voice:
                    continue
                if not first:
                    writer.move(measure, "backup", bar.length)
                first = False
                for slot in row[index]:
                    writer.slot(measure, slot, staff + 1, voice, bar)
                if not row[index]:
                    writer.empty(measure, staff + 1, bar)
    return root


def _slots_by_bar(sheet: Sheet, voice: Sequence[Chord]) -> list[list[_Slot]]:
    """For every bar the values of one voice, rests between its chords included."""
    rows: list[list[_Slot]] = []
    waiting = 0
    for bar in sheet.bars:
        end = bar.onset + bar.length
        row: list[_Slot] = []
        at = bar.onset
        place = waiting
        while place < len(voice) and voice[place].onset < end:
            chord = voice[place]
            start, stop = max(chord.onset, bar.onset), min(chord.end, end)
            if start > at:
                row += _rests(bar, at, start)
            if stop > start:
                row += _chord(bar, start, stop, chord)
                at = stop
            if chord.end > end:
                break
            place += 1
        waiting = place
        if not row:
            rows.append([])
            continue
        if at < end:
            row += _rests(bar, at, end)
        _mark_tuplets(row, bar)
        _mark_beams(row, bar)
        rows.append(row)
    return rows


def _cut(bar: Span, start: Fraction, end: Fraction) -> list[Value]:
    return cut(start - bar.onset, end - bar.onset, bar.onset, bar.time.beat)


def _rests(bar: Span, start: Fraction, end: Fraction) -> list[_Slot]:
    return [_Slot(value, ()) for value in _cut(bar, start, end)]


def _chord(bar: Span, start: Fraction, end: Fraction, chord: Chord) -> list[_Slot]:
    slots = [_Slot(value, chord.pitches) for value in _cut(bar, start, end)]
    for slot in slots:
        slot.tie_stop = bar.onset + slot.value.start > chord.onset
        slot.tie_start = bar.onset + slot.value.end < chord.end
    return slots


def _mark_tuplets(row: Sequence[_Slot], bar: Span) -> None:
    """Brackets: one to each quarter that is divided by an odd number."""
    groups: dict[int, list[_Slot]] = {}
    for slot in row:
        if slot.value.actual > 1:
            groups.setdefault(int((bar.onset + slot.value.start) // 1), []).append(slot)
    for group in groups.values():
        if len(group) > 1:
            group[0].tuplet, group[-1].tuplet = "start", "stop"


def _mark_beams(row: Sequence[_Slot], bar: Span) -> None:
    """Beams join the short notes of one beat that follow each other."""
    groups: list[list[_Slot]] = []
    last: tuple[int, Fraction] | None = None
    for slot in row:
        beat = int(slot.value.start // bar.time.beat)
        if not slot.pitches or slot.value.kind not in FLAGS:
            last = None
            continue
        if last == (beat, slot.value.start):
            groups[-1].append(slot)
        else:
            groups.append([slot])
        last = (beat, slot.value.end)
    for group in groups:
        if len(group) > 1:
            _beam(group)


def _beam(group: Sequence[_Slot]) -> None:
    flags = [FLAGS[slot.value.kind] for slot in group]
    for place, slot in enumerate(group):
        for level in range(1, flags[place] + 1):
            before = place > 0 and flags[place - 1] >= level
            after = place + 1 < len(group) and flags[place + 1] >= level
            slot.beams.append(
                "continue"
                if before and after
                else "end"
                if before
                else "begin"
                if after
                else "backward hook"
                if place
                else "forward hook"
            )


def _pitches(
    sheet: Sheet, slots: Sequence[Sequence[Sequence[Sequence[_Slot]]]]
) -> list[list[list[int]]]:
    """For each staff and bar the pitches that stand there."""
    return [
        [
            [p for row in staff for slot in row[i] for p in slot.pitches]
            for i in range(len(sheet.bars))
        ]
        for staff in slots
    ]


def _clefs(bars: Sequence[Sequence[int]], home: str) -> list[str]:
    """The clef of each bar; it changes only where some bars in a row want another."""
    means = [sum(bar) / len(bar) if bar else None for bar in bars]
    now, rows = home, []
    for index, mean in enumerate(means):
        ahead = [m for m in means[index : index + CLEF_AHEAD] if m is not None][:CLEF_BARS]
        if mean is not None and len(ahead) == CLEF_BARS:
            if now == "F" and min(ahead) > CLEF_UP:
                now = "G"
            elif now == "G" and max(ahead) < CLEF_DOWN:
                now = "F"
        rows.append(now)
    return rows


class _Writer:
    """Writes elements in one tick."""

    def __init__(self, sheet: Sheet, divisions: int) -> None:
        self._sheet = sheet
        self._divisions = divisions
        self._tempo = 0
        self._pedal = 0
        self._clefs: list[str] = []

    def _ticks(self, quarters: Fraction) -> str:
        return str(int(quarters * self._divisions))

    def attributes(self, measure: Element, index: int, clefs: list[str]) -> None:
        """Metre, key and clefs where they change."""
        bar = self._sheet.bars[index]
        if index and not bar.new_time and bar.new_key is None and clefs == self._clefs:
            return
        node = etree.SubElement(measure, "attributes")
        if not index:
            etree.SubElement(node, "divisions").text = str(self._divisions)
        if bar.new_key is not None:
            key = etree.SubElement(node, "key")
            etree.SubElement(key, "fifths").text = str(bar.fifths)
            etree.SubElement(key, "mode").text = bar.new_key
        if bar.new_time:
            time = etree.SubElement(node, "time")
            etree.SubElement(time, "beats").text = str(sum(bar.time.beats))
            etree.SubElement(time, "beat-type").text = str(bar.time.beat_type)
        if not index:
            etree.SubElement(node, "staves").text = str(len(clefs))
        for staff, clef in enumerate(clefs):
            if not index or clef != self._clefs[staff]:
                sign, line = CLEFS[clef]
                element = etree.SubElement(node, "clef", number=str(staff + 1))
                etree.SubElement(element, "sign").text = sign
                etree.SubElement(element, "line").text = line
        self._clefs = clefs

    def directions(self, measure: Element, bar: Span) -> None:
        """Tempos and pedal of the bar, each at its place."""
        end = bar.onset + bar.length
        while self._tempo < len(self._sheet.tempos) and self._sheet.tempos[self._tempo][0] < end:
            at, rate = self._sheet.tempos[self._tempo]
            sound = etree.SubElement(measure, "sound", tempo=f"{rate:.4g}")
            if at > bar.onset:
                etree.SubElement(sound, "offset").text = self._ticks(at - bar.onset)
            self._tempo += 1
        while self._pedal < len(self._sheet.pedal) and self._sheet.pedal[self._pedal][0] < end:
            at, down = self._sheet.pedal[self._pedal]
            direction = etree.SubElement(measure, "direction", placement="below")
            kind = etree.SubElement(direction, "direction-type")
            etree.SubElement(kind, "pedal", type="start" if down else "stop", line="no", sign="yes")
            if at > bar.onset:
                etree.SubElement(direction, "offset").text = self._ticks(at - bar.onset)
            etree.SubElement(direction, "staff").text = str(len(self._clefs))
            self._pedal += 1

    def move(self, measure: Element, tag: str, length: Fraction) -> None:
        """A backup or forward."""
        etree.SubElement(etree.SubElement(measure, tag), "duration").text = self._ticks(length)

    def empty(self, measure: Element, staff: int, bar: Span) -> None:
        """A rest for the whole bar."""
        note = etree.SubElement(measure, "note")
        etree.SubElement(note, "rest", measure="yes")
        etree.SubElement(note, "duration").text = self._ticks(bar.length)
        etree.SubElement(note, "voice").text = str(4 * (staff - 1) + 1)
        etree.SubElement(note, "staff").text = str(staff)

    def slot(self, measure: Element, slot: _Slot, staff: int, voice: int, bar: Span) -> None:
        """The note elements of a slot."""
        name = str(4 * (staff - 1) + voice + 1)
        if not slot.pitches and voice:
            self.move(measure, "forward", slot.value.length)
            return
        for place, midi in enumerate(slot.pitches or (None,)):
            note = etree.SubElement(measure, "note")
            if place:
                etree.SubElement(note, "chord")
            if midi is None:
                etree.SubElement(note, "rest")
            else:
                self._pitch(note, midi, bar.fifths)
            etree.SubElement(note, "duration").text = self._ticks(slot.value.length)
            for kind, there in (("stop", slot.tie_stop), ("start", slot.tie_start)):
                if there:
                    etree.SubElement(note, "tie", type=kind)
            etree.SubElement(note, "voice").text = name
            self._value(note, slot.value)
            etree.SubElement(note, "staff").text = str(staff)
            for level, text in enumerate([] if place else slot.beams, start=1):
                etree.SubElement(note, "beam", number=str(level)).text = text
            self._notations(note, slot, first=not place)

    def _pitch(self, note: Element, midi: int, fifths: int) -> None:
        spelled = spell(midi, fifths)
        node = etree.SubElement(note, "pitch")
        etree.SubElement(node, "step").text = spelled.step
        if spelled.alter:
            etree.SubElement(node, "alter").text = str(spelled.alter)
        etree.SubElement(node, "octave").text = str(spelled.octave)

    def _value(self, note: Element, value: Value) -> None:
        etree.SubElement(note, "type").text = value.kind
        for _ in range(value.dots):
            etree.SubElement(note, "dot")
        if value.actual > 1:
            node = etree.SubElement(note, "time-modification")
            etree.SubElement(node, "actual-notes").text = str(value.actual)
            etree.SubElement(node, "normal-notes").text = str(value.normal)

    def _notations(self, note: Element, slot: _Slot, *, first: bool) -> None:
        wanted = slot.tie_stop or slot.tie_start or (first and slot.tuplet)
        if not wanted:
            return
        node = etree.SubElement(note, "notations")
        for kind, there in (("stop", slot.tie_stop), ("start", slot.tie_start)):
            if there:
                etree.SubElement(node, "tied", type=kind)
        if first and slot.tuplet:
            etree.SubElement(node, "tuplet", type=slot.tuplet)
