"""The same music made harder or easier in one way, as a teacher or an editor would."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from typing import Any

from passagework.score.piece import Metronome, Note, Piece, Pitch
from passagework.spots.context import Context


def with_tempo(piece: Piece, factor: float = 1.0) -> Piece:
    """The tempo of its beginning printed as a number, times `factor`, and every other mark with it."""
    speed = Context(piece).tempo.quarters_per_minute(Fraction(0))
    first = Metronome("tempo", Fraction(0), 0, Fraction(1), speed * factor)
    others = [replace(m, per_minute=m.per_minute * factor) for m in piece.metronomes if m.onset > 0]
    return replace(piece, metronomes=(first, *others))


def in_order(notes: list[Note]) -> tuple[Note, ...]:
    return tuple(sorted(notes, key=lambda n: (n.onset, not n.grace, n.midi)))


def with_voice(piece: Piece, chosen: Callable[[int], bool], steps: int = 2) -> Piece:
    """A second line below (left hand: above) the notes that are chosen."""
    added: list[Note] = []
    for at, note in enumerate(piece.notes):
        if note.grace or not chosen(at):
            continue
        where = note.pitch.diatonic + (steps if note.hand == "left" else -steps)
        pitch = Pitch("CDEFGAB"[where % 7], 0, where // 7)
        added.append(
            replace(note, id=f"{note.id}v", pitch=pitch, voice="9", tied_ids=(), ornaments=())
        )
    return replace(piece, notes=in_order([*piece.notes, *added]))


def thinned(piece: Piece, kept: Callable[[int], bool]) -> Piece:
    """Only the notes that are kept."""
    return replace(piece, notes=tuple(n for at, n in enumerate(piece.notes) if kept(at)))


def altered(piece: Piece, chosen: Callable[[int], bool]) -> Piece:
    """A sharp before the natural notes that are chosen and that the signature leaves alone."""
    rows = [
        replace(n, pitch=replace(n.pitch, alter=1))
        if n.pitch.alter == 0 and abs(piece.bars[n.bar].fifths) == 0 and chosen(at)
        else n
        for at, n in enumerate(piece.notes)
    ]
    return replace(piece, notes=tuple(rows))


def octave(piece: Piece, octaves: int) -> Piece:
    """Every note moved by octaves, the clefs as they were."""
    rows = [
        replace(n, pitch=replace(n.pitch, octave=n.pitch.octave + octaves)) for n in piece.notes
    ]
    return replace(piece, notes=tuple(rows))


def excerpt(piece: Piece, first: int, last: int) -> Piece:
    """Bars `first` to `last`, with the tempo, clefs and signature that hold there."""
    start, end = piece.bars[first].onset, piece.bars[last].end

    def rows(items: tuple[Any, ...], key: Callable[[Any], object] = lambda _: 0) -> tuple[Any, ...]:
        held: dict[object, Any] = {}
        inside: list[Any] = []
        for item in items:
            if item.onset <= start:
                held[key(item)] = replace(item, onset=Fraction(0), bar=0)
            elif item.onset < end:
                inside.append(replace(item, onset=item.onset - start, bar=item.bar - first))
        return (*held.values(), *inside)

    return replace(
        piece,
        bars=tuple(
            replace(b, index=b.index - first, onset=b.onset - start)
            for b in piece.bars[first : last + 1]
        ),
        notes=tuple(
            replace(n, bar=n.bar - first, onset=n.onset - start)
            for n in piece.notes
            if first <= n.bar <= last
        ),
        rests=(), hairpins=(), pedals=(), slurs=(), octave_shifts=(), playing_order=(), dynamics=(),
        clefs=rows(piece.clefs, lambda c: c.staff),
        key_signatures=rows(piece.key_signatures),
        words=rows(piece.words),
        metronomes=rows(piece.metronomes),
    )  # fmt: skip
