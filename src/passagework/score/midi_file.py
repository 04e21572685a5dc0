"""Standard MIDI files: bytes to notes, pedal, metres, keys and tempos, in ticks.

Read here byte by byte rather than with a library, because a file that is cut short or lies about
its lengths should give what it still holds, and one that is hostile should cost no more than its size.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from struct import unpack

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_MIDI_BYTES, MAX_NOTES, MAX_TICK

DRUMS = 9
"""The channel that General MIDI keeps for percussion."""

DAMPER = 64
"""Controller number of the damper pedal; values of 64 and more are down (MIDI 1.0)."""

ASSUMED_TEMPO = 500_000
"""Microseconds to a quarter where a file gives no tempo (Standard MIDI Files 1.0)."""

MOST_UNISONS = 4
"""Voices that strike one key at once; more are a mistake of the file."""

_DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}


@dataclass(slots=True)
class Struck:
    """A note that was struck and released, in ticks; `track` and `channel` say where it stood."""

    onset: int
    end: int
    midi: int
    velocity: int
    track: int
    channel: int


@dataclass(slots=True)
class MidiData:
    """What a file holds. Times are ticks, `per_quarter` of them to a quarter note."""

    per_quarter: float
    notes: list[Struck] = field(default_factory=list)
    names: dict[int, str] = field(default_factory=dict)
    """Track names by the number of the track."""
    pedal: list[tuple[int, bool]] = field(default_factory=list)
    damper: list[tuple[int, int, int]] = field(default_factory=list)
    """The same pedal as it was sent: (tick, channel, value)."""
    tempos: list[tuple[int, int]] = field(default_factory=list)
    """(tick, microseconds to a quarter)."""
    times: list[tuple[int, int, int]] = field(default_factory=list)
    """(tick, beats, beat type)."""
    keys: list[tuple[int, int, str]] = field(default_factory=list)
    """(tick, fifths, mode)."""
    cut_short: bool = False


def read_midi(data: bytes) -> MidiData:
    """Read a Standard MIDI File (bare or in RIFF). Raises `ScoreError` where it holds no notes."""
    if data.startswith(b"RIFF"):
        start = data.find(b"MThd")
        data = data[start:] if start >= 0 else b""
    if len(data) > MAX_MIDI_BYTES:
        raise ScoreError(
            f"the MIDI file is larger than {MAX_MIDI_BYTES // 1_000_000} MB",
            do="export one movement at a time",
        )
    if len(data) < 14 or not data.startswith(b"MThd"):
        raise ScoreError("the MIDI file has no header", do="export it again")
    length, _, _, division = unpack(">IHHH", data[4:14])
    midi = MidiData(_per_quarter(division))
    at = 8 + max(length, 6)
    track = 0
    while at + 8 <= len(data):
        kind, size = data[at : at + 4], unpack(">I", data[at + 4 : at + 8])[0]
        body = data[at + 8 : at + 8 + size]
        if kind == b"MTrk":
            midi.cut_short |= len(body) < size
            _Track(midi, body, track).read()
            track += 1
        at += 8 + size
    if not midi.notes:
        raise ScoreError("the MIDI file has no notes in it", do="export it again")
    midi.notes.sort(key=lambda n: (n.onset, n.midi, n.track))
    for rows in (midi.pedal, midi.damper, midi.tempos, midi.times, midi.keys):
        rows.sort(key=lambda row: row[0])
    return midi


def _per_quarter(division: int) -> float:
    """Ticks to a quarter; where the file counts film frames, a quarter is taken as half a second."""
    if division & 0x8000:
        frames = 256 - (division >> 8)
        ticks = frames * (division & 0xFF) / 2
    else:
        ticks = float(division)
    if ticks <= 0:
        raise ScoreError("the MIDI file has no ticks to a beat", do="export it again")
    return ticks


class _Track:
    """One pass over the events of a track."""

    def __init__(self, midi: MidiData, body: bytes, number: int) -> None:
        self._midi = midi
        self._body = body
        self._number = number
        self._at = 0
        self._now = 0
        self._held: dict[tuple[int, int], list[tuple[int, int]]] = {}

    def read(self) -> None:
        status = 0
        try:
            while self._at < len(self._body):
                self._now = min(self._now + self._variable(), MAX_TICK)
                byte = self._body[self._at]
                if byte >= 0x80:
                    status = byte
                    self._at += 1
                if status == 0xFF:
                    if self._meta():
                        break
                    status = 0
                elif status in {0xF0, 0xF7}:
                    self._at += self._variable()
                    status = 0
                elif 0x80 <= status < 0xF0:
                    self._channel(status)
                else:
                    self._at += byte < 0x80  # data that belongs to no status: passed over
        except IndexError:
            self._midi.cut_short = True
        for (channel, pitch), rows in self._held.items():
            for row in rows:
                self._add(channel, pitch, *row)

    def _variable(self) -> int:
        """A number of up to four bytes, seven bits in each."""
        value = 0
        for _ in range(4):
            byte = self._body[self._at]
            self._at += 1
            value = value << 7 | byte & 0x7F
            if byte < 0x80:
                break
        return value

    def _channel(self, status: int) -> None:
        kind, channel = status >> 4, status & 0xF
        first = self._body[self._at] & 0x7F
        second = self._body[self._at + 1] & 0x7F if _DATA_BYTES[kind] == 2 else 0
        self._at += _DATA_BYTES[kind]
        if kind in {0x8, 0x9} and channel != DRUMS:
            self._key(channel, first, second if kind == 0x9 else 0)
        elif kind == 0xB and first == DAMPER:
            self._midi.pedal.append((self._now, second >= 64))
            self._midi.damper.append((self._now, channel, second))

    def _key(self, channel: int, pitch: int, velocity: int) -> None:
        """A key goes down, or up where `velocity` is 0.

        Struck twice at once it is a unison of two voices, and each has its own end; struck again later,
        it ends what it held.
        """
        held = self._held.setdefault((channel, pitch), [])
        if not velocity:
            if held:
                self._add(channel, pitch, *held.pop())
            return
        if held and held[0][0] < self._now:
            for row in held:
                self._add(channel, pitch, *row)
            held.clear()
        if len(held) < MOST_UNISONS:
            held.append((self._now, velocity))

    def _add(self, channel: int, pitch: int, onset: int, velocity: int) -> None:
        notes = self._midi.notes
        if len(notes) >= MAX_NOTES:
            raise ScoreError(
                f"the MIDI file has more than {MAX_NOTES:,} notes",
                do="export one movement at a time",
            )
        end = max(self._now, onset + 1)
        notes.append(Struck(onset, end, pitch, velocity, self._number, channel))

    def _meta(self) -> bool:
        """Read a meta event; whether it ends the track."""
        kind = self._body[self._at]
        self._at += 1
        size = self._variable()
        data = self._body[self._at : self._at + size]
        self._at += size
        midi = self._midi
        if kind == 0x2F:
            return True
        if kind == 0x03:
            name = " ".join(data[:200].decode("utf-8", "replace").replace("\0", " ").split())
            midi.names.setdefault(self._number, name)
        elif kind == 0x51 and len(data) == 3:
            tempo = int.from_bytes(data, "big")
            if tempo:
                midi.tempos.append((self._now, tempo))
        elif kind == 0x58 and len(data) >= 2 and 0 < data[0] <= 64 and data[1] <= 5:
            midi.times.append((self._now, data[0], 2 ** data[1]))
        elif kind == 0x59 and len(data) == 2:
            fifths = data[0] - 256 if data[0] > 127 else data[0]
            if abs(fifths) <= 7 and data[1] in {0, 1}:
                midi.keys.append((self._now, fifths, "minor" if data[1] else "major"))
        return False
