"""One score as one row. A function from bytes to plain values, so that a reader's process can run it anywhere."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from math import isfinite
from typing import Any, Final

from passagework import __version__
from passagework.analysis.harmony import analyse_harmony
from passagework.demands.measure import measure_demands
from passagework.demands.profile import PROFILE_VERSION, Demands
from passagework.demands.scale import ungraded_score
from passagework.hands.hand import Hand
from passagework.score.errors import ScoreError
from passagework.score.piece import Piece
from passagework.score.read import read_score
from passagework.spots.context import Context
from passagework.survey.columns import MEASURES, descriptor_column, kind_column

Row = dict[str, Any]
"""Values by column; a column that is not there is null."""

BARS_AT_AN_END: Final = 16
"""Bars at the beginning and at the end that the key is told from. Of 45 pieces of all sorts each had the same key so as from all
its bars (with 8 bars 43 had), at a third of the cost."""

DIGITS: Final = 2

TRANSIENT: Final = frozenset({"file", "time", "memory", "crash"})
"""Errors that may be gone another time; such files are read again in the next survey."""


def content_hash(data: bytes) -> str:
    """SHA-256 of a file's bytes."""
    return hashlib.sha256(data).hexdigest()


def measured_row(data: bytes, path: str, reach_cm: float) -> Row:
    """What the survey says of a score; one that cannot be read gives a row with its error and raises nothing.

    Raises `MemoryError` only, for the caller to say.
    """
    row: Row = {"path": path, "hash": content_hash(data), "size": len(data)} | _stamp(reach_cm)
    try:
        piece = read_score(data, path.rsplit("/", 1)[-1]).piece
        if not piece.notes:
            raise ScoreError("there is no note in it")
        context = Context(piece, Hand(reach_cm))
        return row | _about(piece, context) | _profile(measure_demands(context, dear=False))
    except ScoreError as error:
        return row | error_columns("unreadable", str(error))
    except MemoryError:
        raise
    except Exception as error:  # one file must not end the work on the others
        said = (
            f"a fault of the program, not of your file ({type(error).__name__}: {str(error)[:120]})"
        )
        return row | error_columns("fault", said)


def error_row(path: str, reach_cm: float, kind: str, text: str, hash_: str | None = None) -> Row:
    """The row of a file that was not measured."""
    return {"path": path, "hash": hash_} | _stamp(reach_cm) | error_columns(kind, text)


def error_columns(kind: str, text: str) -> Row:
    """An error in one line."""
    line = " ".join(text.split()).encode("utf-8", "backslashreplace").decode()
    return {"error": line, "error_kind": kind}


def _stamp(reach_cm: float) -> Row:
    return {
        "reach_cm": reach_cm,
        "profile_version": PROFILE_VERSION,
        "program_version": __version__,
    }


def _about(piece: Piece, context: Context) -> Row:
    pitches = [note.pitch.midi for note in piece.notes]
    whole = next((bar for bar in piece.bars if not bar.pickup), None)
    seconds = sum(
        context.seconds(piece.bars[i].end) - context.seconds(piece.bars[i].onset)
        for i in piece.playing_order
    )
    return {
        "title": piece.title or None,
        "composer": piece.composer or None,
        "key": main_key(piece),
        "metre": str(whole.time) if whole else None,
        "bars": len(piece.bars) - (1 if piece.bars[0].pickup else 0),
        "notes": len(pitches),
        "seconds": round(seconds, DIGITS),
        "lowest": min(pitches),
        "highest": max(pitches),
        "warnings": list(piece.warnings),
    }


def _profile(demands: Demands) -> Row:
    row: Row = {"score": round(ungraded_score(demands.descriptors), DIGITS)}
    for name, kind in demands.kinds.items():
        for measure, _, _ in MEASURES:
            row[kind_column(name, measure)] = getattr(kind, measure)
    row |= {descriptor_column(name): value for name, value in demands.descriptors.items()}
    return {name: _finite(value) for name, value in row.items()}


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def main_key(piece: Piece) -> str | None:
    """The key of the first or of the last bars, whichever of the two holds for longer there; None where there is none."""
    keys = analyse_harmony(both_ends(piece, BARS_AT_AN_END)).keys
    if not keys:
        return None
    lengths: dict[str, float] = {}
    for key in keys:
        lengths[key.name] = lengths.get(key.name, 0.0) + float(key.end - key.onset)
    return max((keys[-1].name, keys[0].name), key=lambda name: lengths[name])


def both_ends(piece: Piece, bars: int) -> Piece:
    """The first and the last `bars` bars with their notes, as if nothing stood between them; a short piece as it is."""
    total = len(piece.bars)
    if total <= 2 * bars:
        return piece
    head, tail = piece.bars[:bars], piece.bars[-bars:]
    gone, away = total - 2 * bars, tail[0].onset - head[-1].end
    later = tuple(replace(b, index=b.index - gone, onset=b.onset - away) for b in tail)
    first = tuple(n for n in piece.notes if n.bar < bars)
    last = tuple(
        replace(n, bar=n.bar - gone, onset=n.onset - away)
        for n in piece.notes
        if n.bar >= total - bars
    )
    return replace(piece, bars=head + later, notes=first + last)


def as_text(row: Mapping[str, Any]) -> Row:
    """The row with texts that can be written as UTF-8, whatever a file had in it."""
    return {name: _clean(value) for name, value in row.items()}


def _clean(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "backslashreplace").decode()
    if isinstance(value, list):
        return [_clean(item) for item in value]
    return value
