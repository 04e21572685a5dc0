"""The same piece written another way, for properties that must survive it; and real pieces to try them on."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import fields, is_dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from random import Random
from typing import TypeVar

import pytest

from passagework.score import Note, Piece, read_score
from passagework.score.piece import Pitch, TimeSignature

ROOT = Path(__file__).parents[2]
DATA = Path(os.environ.get("PASSAGEWORK_DATA", ROOT.parent / "shared" / "data")) / "scores"
DEMO = ROOT / "src" / "passagework" / "demo"

Row = TypeVar("Row")


@cache
def demo(name: str) -> Piece:
    path = DEMO / f"{name}.musicxml"
    return read_score(path.read_bytes(), path.name).piece


@cache
def real(name: str) -> Piece:
    path = DATA / f"{name}.musicxml"
    if not path.exists():
        pytest.skip(f"no score {name!r}: set PASSAGEWORK_DATA to the folder of development data")
    return read_score(path.read_bytes(), path.name).piece


def transposed(piece: Piece, steps: int, semitones: int) -> Piece:
    """Every pitch moved by an interval of that many staff steps and semitones."""

    def moved(note: Note) -> Note:
        diatonic = note.pitch.diatonic + steps
        step, octave = "CDEFGAB"[diatonic % 7], diatonic // 7
        natural = Pitch(step, 0, octave).midi
        return replace(note, pitch=Pitch(step, note.pitch.midi + semitones - natural, octave))

    return replace(piece, notes=tuple(moved(n) for n in piece.notes))


def augmented(piece: Piece) -> Piece:
    """Every value twice as long, a bar of 4/4 as one of 4/2."""

    def longer(row: Row) -> Row:
        changes: dict[str, object] = {}
        assert is_dataclass(row)
        for field in fields(row):
            value = getattr(row, field.name)
            if isinstance(value, Fraction):
                changes[field.name] = value * 2
            elif isinstance(value, TimeSignature):
                changes[field.name] = replace(
                    value, beats=tuple(2 * b for b in value.beats), beat_type=value.beat_type
                )
        return replace(row, **changes)  # type: ignore[type-var,return-value]

    names = (
        "bars", "notes", "rests", "clefs", "key_signatures", "dynamics", "hairpins", "words",
        "metronomes", "pedals", "slurs", "octave_shifts",
    )  # fmt: skip
    rows: dict[str, Iterable[object]] = {name: getattr(piece, name) for name in names}
    return replace(piece, **{k: tuple(longer(r) for r in v) for k, v in rows.items()})  # type: ignore[arg-type]


def revoiced(piece: Piece, seed: int) -> Piece:
    """Voices renumbered at random bar by bar, and chords with them."""
    random = Random(seed)
    names: dict[tuple[int, str], str] = {}
    notes = []
    for note in piece.notes:
        voice = names.setdefault((note.bar, note.voice), str(random.randint(1, 99)))
        notes.append(replace(note, voice=voice, chord=random.randint(1, 10**6)))
    return replace(piece, notes=tuple(notes))
