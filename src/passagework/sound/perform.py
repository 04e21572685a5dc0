"""The door of the room: a piece, or the notation of a step, as a `Performance`.

``perform(piece, tempo=60, mute=("left",), count_in=1, click=True)`` is the right hand alone at 60, with a bar of
count-in and the metronome.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from fractions import Fraction

from passagework.analysis.loudness import LoudnessCurve, loudness_curve
from passagework.analysis.marks import read_marks
from passagework.analysis.melody import find_tune
from passagework.analysis.tempo import tempo_map
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Piece, Side
from passagework.sound.cadenzas import with_room
from passagework.sound.clock import Run, Speed, paces, runs
from passagework.sound.errors import SoundError
from passagework.sound.grace_groups import grace_groups
from passagework.sound.keys import one_key_once
from passagework.sound.loudness import added_velocity, velocities
from passagework.sound.metre import count_in_bars, entries, pulses
from passagework.sound.ornaments import Manner
from passagework.sound.pedals import play_pedals
from passagework.sound.performance import Beat, Click, Performance, PlayedBar, PlayedNote
from passagework.sound.stroke import Stroke
from passagework.sound.strokes import play_notes

SLOWEST_QPM, FASTEST_QPM = 4.0, 1_000.0
"""Quarters a minute between which a tempo is believed."""
MOST_COUNT_IN = 8
"""Bars of a count-in, at most."""


def perform(
    source: Piece | Notation,
    *,
    tempo: float | None = None,
    tempo_scale: float = 1.0,
    mute: Collection[Side] = (),
    only: Collection[str] | None = None,
    bring_out: Collection[str] | None = None,
    count_in: int = 0,
    click: bool = False,
    pedal: bool = True,
    unfold: bool = False,
    upper_trills: bool = False,
) -> Performance:
    """Perform `source` as written.

    `tempo` is a steady speed in quarters a minute, as of a metronome: no rit. and no fermata. Without it the piece's own
    tempo is followed, `tempo_scale` times as fast. `mute` silences hands; `only` the noteheads with these ids sound.
    `bring_out` are the ids of the notes to bring out; None for the tune as `find_tune` hears it, empty for none.
    `count_in` bars are clicked before the first, whatever `click` says, which is for the bars themselves. The damper pedal
    is used as marked unless `pedal` is False. `unfold` plays repeats, endings and jumps out. `upper_trills` begins trills on the
    upper note.

    Raises `SoundError` for a tempo that cannot be played and a count-in of more than `MOST_COUNT_IN` bars.
    """
    piece = read_piece(source) if isinstance(source, Notation) else source
    marks = read_marks(piece)
    groups = grace_groups(piece)
    tempi = with_room(tempo_map(piece, marks), groups)
    own = Speed(tempi, 1.0, None)
    speed = Speed(tempi, tempo_scale, tempo)
    _check(tempo, tempo_scale, count_in)
    lead_bars = count_in_bars(piece.bars[0], count_in) if piece.bars else []
    lead = sum((length for length, _ in lead_bars), Fraction(0))
    lead_s = float(lead) * 60.0 / speed.quarters_per_minute(Fraction(0))
    order = piece.playing_order if unfold and piece.playing_order else range(len(piece.bars))
    found = runs(piece, order, speed, lead_s, lead)
    strokes = play_notes(piece, marks, groups, speed, own, lead_s, Manner(upper_trills))
    tune = find_tune(piece).melody if bring_out is None else frozenset(bring_out)
    heard = _heard(strokes, mute, only)
    curve = loudness_curve(piece, marks)
    notes = one_key_once(_played(heard, piece, found, speed, curve, tune))
    beats = tuple(_beats(piece, order, found, speed, lead_bars))
    return Performance(
        title=piece.title,
        notes=notes,
        pedals=tuple(play_pedals(piece, found, speed)) if pedal else (),
        clicks=tuple(Click(b.start, b.accent) for b in beats if click or b.bar < 0),
        beats=beats,
        paces=paces(found, speed, lead),
        bars=tuple(_bars(piece, found, lead_bars)),
        count_in=lead_s,
        duration=lead_s + sum(speed.seconds(r.end) - speed.seconds(r.onset) for r in found),
    )


def _check(tempo: float | None, scale: float, count_in: int) -> None:
    if tempo is not None and not SLOWEST_QPM <= tempo <= FASTEST_QPM:
        raise SoundError(
            f"{tempo:g} crotchets a minute cannot be played; "
            f"give between {SLOWEST_QPM:g} and {FASTEST_QPM:g}"
        )
    if not 0.05 <= scale <= 20.0:
        raise SoundError(f"{scale:g} times the tempo cannot be played; give between 0.05 and 20")
    if not 0 <= count_in <= MOST_COUNT_IN:
        raise SoundError(
            f"a count-in of {count_in} bars is not possible; give 0 to {MOST_COUNT_IN}"
        )


def _heard(
    strokes: Sequence[Stroke], mute: Collection[Side], only: Collection[str] | None
) -> list[Stroke]:
    wanted = None if only is None else frozenset(only)
    return [
        s
        for s in strokes
        if s.note.hand not in mute and (wanted is None or not wanted.isdisjoint(s.note.ids))
    ]


def _played(
    strokes: Sequence[Stroke], piece: Piece, found: Sequence[Run], speed: Speed, curve: LoudnessCurve,
    tune: frozenset[str],
) -> Iterator[PlayedNote]:  # fmt: skip
    """The strokes of every run; a note that is tied past the end of a run ends with it."""
    rows: list[list[tuple[Stroke, int]]] = [[] for _ in piece.bars]
    voiced = bool(tune)
    struck: dict[str, int] = {}
    for stroke in strokes:
        note = stroke.note
        if note.id not in struck:
            struck[note.id] = velocities(curve, note, tune, voiced=voiced)
        main = struck[note.id]
        rows[note.bar].append((stroke, added_velocity(main) if stroke.added else main))
    finish = max((r.shift + speed.seconds(r.end) for r in found), default=0.0)
    for run in found:
        close = speed.seconds(run.end)
        jumps = run.last + 1 < len(piece.bars)
        for index, passed in zip(range(run.first, run.last + 1), run.passes, strict=True):
            for stroke, force in rows[index]:
                end = min(stroke.end, close) if jumps and stroke.note.end > run.end else stroke.end
                start = max(0.0, stroke.start + run.shift)
                end = min(end + run.shift, finish)
                yield PlayedNote(
                    start, max(end, start), stroke.pitch, force, stroke.note.id, stroke.note.hand,
                    passed,
                )  # fmt: skip


def _beats(
    piece: Piece, order: Sequence[int], found: Sequence[Run], speed: Speed,
    lead_bars: Sequence[tuple[Fraction, Fraction]],
) -> Iterator[Beat]:  # fmt: skip
    """Every beat, those of the count-in first."""
    if piece.bars:
        rate = speed.quarters_per_minute(Fraction(0))
        gone = Fraction(0)
        for length, late in lead_bars:
            for pulse in pulses(piece.bars[0].time, late, length):
                at = float(gone + pulse.offset) * 60.0 / rate
                yield Beat(at, -1, pulse.count, pulse.accent, None)
            gone += length
    late_by = entries(piece.bars, order)
    at_place = 0
    for run in found:
        for index in range(run.first, run.last + 1):
            bar = piece.bars[index]
            for pulse in pulses(bar.time, late_by[at_place], bar.length):
                position = bar.onset + pulse.offset
                start = speed.seconds(position) + run.shift
                yield Beat(start, index, pulse.count, pulse.accent, position)
            at_place += 1


def _bars(
    piece: Piece, found: Sequence[Run], lead_bars: Sequence[tuple[Fraction, Fraction]]
) -> Iterator[PlayedBar]:
    gone = Fraction(0)
    for length, _ in lead_bars:
        first = piece.bars[0]
        yield PlayedBar(gone, length, -1, first.time, first.fifths)
        gone += length
    for run in found:
        for bar in piece.bars[run.first : run.last + 1]:
            yield PlayedBar(
                run.quarters + bar.onset - run.onset, bar.length, bar.index, bar.time, bar.fifths
            )
