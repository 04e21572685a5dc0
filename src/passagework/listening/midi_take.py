"""A MIDI file as a take: strokes and pedal in seconds.

The bytes are read by the house's own reader (`passagework.score.midi_file`), which gives what a damaged file still holds
and costs no more than its size. Every stroke of the file stays one stroke of the take, so that indices can be
compared with any other reading of the file; only the drum channel is left out.
"""

from __future__ import annotations

from bisect import bisect_right
from struct import pack, unpack

from passagework.listening.errors import TakeError
from passagework.listening.take import PedalHold, PlayedNote, Take
from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_MIDI_BYTES
from passagework.score.midi_file import ASSUMED_TEMPO, MidiData, read_midi

PEDAL_DOWN = 64
"""Controller value from which the damper pedal counts as down (MIDI 1.0 gives 64 to 127 as on); a half pedal is down or up by it."""

PEDAL_FLUTTER_S = 0.02
"""Lifts shorter than this are taken for a pedal that trembles at the threshold. A choice, not a measurement."""

LONGEST_TAKE_S = 6 * 3600.0
"""Longest take believed: no lesson lasts so long, and clocks left running give days."""

DROP_FRAMES = 29
"""The SMPTE frame code that stands for 30000/1001 frames a second."""

_END_TO_END = 2
"""MIDI file format whose tracks are pieces of their own, to be played one after another."""


def take_from_midi(data: bytes) -> Take:
    """The take that a Standard MIDI File holds. Raises `TakeError` for a file that is broken, too large or without notes."""
    start = data[:4096].find(b"MThd")
    if start < 0:
        raise TakeError("this is not a MIDI file", do="export the take as a .mid file")
    data = data[start:]
    if len(data) > MAX_MIDI_BYTES:
        raise TakeError(
            f"the MIDI file is larger than {MAX_MIDI_BYTES // 1_000_000} MB",
            do="save one lesson at a time",
        )
    try:
        files = _sequences(data)
    except ScoreError as error:
        raise TakeError(error.what, where=error.where, do="save the take again") from error
    notes: list[PlayedNote] = []
    pedals: list[PedalHold] = []
    begin = 0.0
    for midi, seconds in files:
        found = _notes(midi, seconds, begin)
        end = max(note.end for note in found)
        if end > LONGEST_TAKE_S:
            late = next(n.onset for n in [*found, found[-1]] if n.end > LONGEST_TAKE_S)
            raise TakeError(
                f"the take lasts more than {LONGEST_TAKE_S / 3600:.0f} hours",
                where=f"a note at {late / 3600:.1f} hours",
                do="save one lesson at a time",
            )
        notes += found
        pedals += _pedals(midi, seconds, begin, end)
        begin = end
    notes.sort(key=lambda note: (note.onset, note.pitch))
    return Take(tuple(notes), tuple(pedals), "midi", True, tuple(_warnings(files)))


class _Clock:
    """Seconds by ticks, by the tempo changes of a file or by its film frames."""

    def __init__(self, midi: MidiData, division: int) -> None:
        self._ticks, self._seconds, self._rates = [0], [0.0], [ASSUMED_TEMPO / 1e6]
        if division & 0x8000:
            frames = 256 - (division >> 8)
            per_second = (30_000 / 1_001 if frames == DROP_FRAMES else frames) * (division & 0xFF)
            self._rates = [1.0 / per_second]
            return
        self._rates[0] /= midi.per_quarter
        for tick, tempo in midi.tempos:
            self._seconds.append(self(tick))
            self._ticks.append(tick)
            self._rates.append(tempo / 1e6 / midi.per_quarter)

    def __call__(self, tick: int) -> float:
        at = bisect_right(self._ticks, tick) - 1
        return self._seconds[at] + (tick - self._ticks[at]) * self._rates[at]


def _sequences(data: bytes) -> list[tuple[MidiData, _Clock]]:
    """What is to be played one after another, each with its clock: the whole file, or each track of format 2."""
    midi = read_midi(data)
    length, form, _, division = unpack(">IHHH", data[4:14])
    if form != _END_TO_END:
        return [(midi, _Clock(midi, division))]
    found = []
    for body in _tracks(data, 8 + max(length, 6)):
        head = b"MThd" + pack(">IHHH", 6, 0, 1, division)
        try:
            alone = read_midi(head + body)
        except ScoreError:
            continue  # a track without notes takes no time
        found.append((alone, _Clock(alone, division)))
    return found


def _tracks(data: bytes, at: int) -> list[bytes]:
    found = []
    while at + 8 <= len(data):
        size = unpack(">I", data[at + 4 : at + 8])[0]
        if data[at : at + 4] == b"MTrk":
            found.append(data[at : at + 8 + size])
        at += 8 + size
    return found


def _notes(midi: MidiData, seconds: _Clock, begin: float) -> list[PlayedNote]:
    found = []
    for struck in midi.notes:
        onset, end = seconds(struck.onset), seconds(struck.end)
        if end <= onset:  # ticks too fine for a float this late in the file
            end = onset + 1e-3
        found.append(PlayedNote(begin + onset, end - onset, struck.midi, struck.velocity))
    return found


def _pedals(midi: MidiData, seconds: _Clock, begin: float, close: float) -> list[PedalHold]:
    """The pedal is down while any channel holds it; what is still held ends with the last note."""
    holding: set[int] = set()
    spans: list[tuple[float, float]] = []
    since = 0.0
    for tick, channel, value in midi.damper:
        was = bool(holding)
        if value >= PEDAL_DOWN:
            holding.add(channel)
        else:
            holding.discard(channel)
        now = begin + seconds(tick)
        if holding and not was:
            since = now
        elif was and not holding:
            spans.append((since, now))
    if holding:
        spans.append((since, close))
    joined: list[tuple[float, float]] = []
    for start, end in spans:
        start, end = min(start, close), min(end, close)
        if joined and start - joined[-1][1] < PEDAL_FLUTTER_S:
            joined[-1] = (joined[-1][0], end)
        elif end > start:
            joined.append((start, end))
    return [PedalHold(start, end) for start, end in joined]


def _warnings(files: list[tuple[MidiData, _Clock]]) -> list[str]:
    found = []
    if any(midi.cut_short for midi, _ in files):
        found.append("The file is cut short: what it still holds is used.")
    doubled = 0
    for midi, _ in files:
        last: dict[int, int] = {}
        for struck in midi.notes:
            doubled += last.get(struck.midi) == struck.onset
            last[struck.midi] = struck.onset
    if doubled:
        found.append(f"{doubled} keys are struck twice at one moment, as if by two voices.")
    return found
