"""Sound for the page, in pieces that the browser can begin to play at once.

A performance is cut in time into *lengths* of a few seconds. The sound of a length is that of the notes that begin in it,
to their very end: the sounds of neighbouring lengths overlap and are added by the browser, so that nothing is cut at a join.
The hands are rendered apart, so that one can be silenced while the other goes on. Clicks are the browser's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from hashlib import blake2b
from typing import Any, Final

from passagework.score.piece import Side
from passagework.score.read import Reading, read_score
from passagework.sound.audio import Audio, render
from passagework.sound.metre import count_in_bars, pulses
from passagework.sound.perform import perform
from passagework.sound.performance import Performance, PlayedNote
from passagework.web.jobs import Report
from passagework.web.piece.hold import reading

LENGTH_S: Final = 12.0
"""Seconds of a length: rendered in less than a tenth of that, and a small file."""

RELEASE_S: Final = 0.8
"""Seconds that a string goes on sounding after its key has come up (the soundfont's own release is shorter)."""

SIDES: Final[tuple[Side, Side]] = ("right", "left")

STEM_GAIN: Final = 3.0
"""Factor by which the synthesiser's sound is made louder: the same for both hands and every length, so that they
can be added; a *ff* chord of one hand stays below full scale."""

KEPT: Final = 24
"""Performances that a worker remembers."""


STEP_NAME: Final = "step.musicxml"
"""What the notation of a step is called."""


@dataclass(frozen=True)
class Source:
    """What is to sound: notation, how fast, and which of it."""

    notation: bytes
    """A score or a step, in any format that is read."""
    name: str
    steady: float | None = None
    """Quarters a minute; None for the piece's own tempo, `scale` times as fast."""
    scale: float = 1.0
    grey: tuple[str, ...] = ()
    """Noteheads that do not sound."""
    unfold: bool = False
    """Whether repeats are played."""

    @property
    def key(self) -> str:
        """What tells it from other sources, in a few letters."""
        rest = repr((self.name, self.steady, self.scale, self.grey, self.unfold)).encode()
        return blake2b(self.notation + rest, digest_size=12).hexdigest()


@lru_cache(maxsize=KEPT)
def _step(notation: bytes) -> Reading:
    """A step as read; apart from the pieces, so that it drives none of them out of memory."""
    return read_score(notation, STEP_NAME)


def _reading(source: Source) -> Reading:
    if source.name == STEP_NAME:
        return _step(source.notation)
    return reading(source.notation, source.name)


@lru_cache(maxsize=KEPT)
def performance(source: Source) -> Performance:
    """The performance of a source. Raises `SoundError` for a tempo that cannot be played."""
    read = _reading(source)
    only = None
    if source.grey:
        only = {n.get("id", "") for n in read.notation.notes()} - set(source.grey)
    return perform(
        read.piece, tempo=source.steady, tempo_scale=source.scale, only=only, unfold=source.unfold
    )


def timeline(report: Report, source: Source) -> dict[str, Any]:
    """When what sounds, in seconds: for the cursor, the clicks, and which lengths there are.

    ``notes`` are [start, end, id, hand]; ``bars`` [start, index]; ``beats`` [start, count, accent];
    ``lead`` is a bar's beats before the first, [seconds before it, count, accent]; ``lengths`` are starts.
    """
    report(None, "Playing it through")
    played = performance(source)
    beats = [[round(b.start, 4), b.count, b.accent] for b in played.beats]
    return {
        "duration": round(played.duration, 4),
        "notes": [
            [round(n.start, 4), round(n.end, 4), n.id, n.hand]
            for n in sorted(played.notes, key=lambda n: n.start)
        ],
        "bars": _bar_starts(played),
        "beats": beats,
        "lead": _lead(source, played),
        "lengths": [round(s, 4) for s in starts(played)],
        "length": LENGTH_S,
    }


def _bar_starts(played: Performance) -> list[list[float | int]]:
    """Seconds and index of every bar as it comes by."""
    rows: list[list[float | int]] = []
    at = 0
    for bar in played.bars:
        while at + 1 < len(played.paces) and played.paces[at + 1].quarters <= bar.quarters:
            at += 1
        pace = played.paces[at]
        gone = float(bar.quarters - pace.quarters) * 60.0 / pace.quarters_per_minute
        rows.append([round(pace.start + gone, 4), bar.index])
    return rows


def _lead(source: Source, played: Performance) -> list[list[float | int]]:
    """The beats of one bar of count-in, in seconds before the first note."""
    piece = _reading(source).piece
    if not piece.bars or not played.paces:
        return []
    first, rate = piece.bars[0], played.paces[0].quarters_per_minute
    counted = count_in_bars(first, 1)
    left = sum((length for length, _ in counted), Fraction(0))
    rows: list[list[float | int]] = []
    for length_, late in counted:
        for pulse in pulses(first.time, late, length_):
            before = float(left - pulse.offset) * 60.0 / rate
            rows.append([round(before, 4), pulse.count, pulse.accent])
        left -= length_
    return rows


def starts(played: Performance) -> list[float]:
    """Where lengths begin."""
    count = max(1, -(-int(played.duration * 1000) // int(LENGTH_S * 1000)))
    return [LENGTH_S * k for k in range(count)]


def length(report: Report, source: Source, side: Side, at: int) -> bytes:
    """The sound of one hand's notes that begin in length `at`, as a WAV file of one channel.

    Raises `SoundError` where no synthesiser is installed, `ValueError` where there is no such length.
    """
    report(None, "Sounding it")
    played = performance(source)
    if not 0 <= at < len(starts(played)):
        raise ValueError("the piece does not last so long")
    part = part_of(played, side, LENGTH_S * at, LENGTH_S * (at + 1))
    return mono_wav(render(part, gain=STEM_GAIN))


def part_of(played: Performance, side: Side, low: float, high: float) -> Performance:
    """The notes of one hand that begin from `low` to before `high`, with the pedal over them, from time 0."""
    notes = [n for n in played.notes if n.hand == side and low <= n.start < high]
    pedals = [p for p in played.pedals if p.end > low]
    moved: list[PlayedNote] = [replace(n, start=n.start - low, end=n.end - low) for n in notes]
    finish = max((_sounds_until(n, played) for n in notes), default=low) - low + RELEASE_S
    used = [
        replace(p, start=max(0.0, p.start - low), end=p.end - low)
        for p in pedals
        if p.start - low < finish
    ]
    return replace(
        played, notes=tuple(moved), pedals=tuple(used), clicks=(), beats=(), duration=finish
    )


def _sounds_until(note: PlayedNote, played: Performance) -> float:
    """When the pedal under a note's end comes up, or the key where there is none."""
    held = [p.end for p in played.pedals if p.start < note.end < p.end]
    return max([note.end, *held])


def mono_wav(audio: Audio) -> bytes:
    """16-bit PCM of one channel: both ears' mean. Louder moments than full scale are cut off."""
    import wave
    from io import BytesIO

    import numpy as np

    mean = audio.samples.mean(axis=1)
    whole = np.clip(np.rint(mean * 32767.0), -32768, 32767).astype("<i2")
    out = BytesIO()
    with wave.open(out, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(audio.rate)
        file.writeframes(whole.tobytes())
    return out.getvalue()


def joined(report: Report, source: Source, sides: Sequence[Side]) -> bytes:
    """The whole of a source as one MIDI file, for those who play it elsewhere."""
    from passagework.sound.midi import to_midi

    report(None, "Writing it")
    played = performance(source)
    return to_midi(replace(played, notes=tuple(n for n in played.notes if n.hand in sides)))
