"""What the library lists, sorts and searches by, computed from a score once.

The function takes bytes and gives plain values, so that a worker's process can run it.
"""

from __future__ import annotations

from passagework.hands.hand import MEDIUM, Hand
from passagework.score.piece import Piece
from passagework.score.read import Reading, read_score
from passagework.studio.piece_records import PieceFacts

SECONDS = 60.0


def piece_facts(data: bytes, file_name: str = "", hand: Hand = MEDIUM) -> PieceFacts:
    """The facts of a score. Raises `passagework.score.ScoreError` for one that cannot be read."""
    return facts_of(read_score(data, file_name), hand)


def facts_of(reading: Reading, hand: Hand = MEDIUM) -> PieceFacts:
    """The facts of a score that was read; its demands are measured by `passagework.demands`, and added with `with_profile`."""
    from passagework.guide.music import (
        main_key,
    )  # analysis is loaded only when a score is brought in
    from passagework.spots.context import Context

    piece = reading.piece
    context = Context(piece, hand)
    pitches = [note.pitch.midi for note in piece.notes]
    return PieceFacts(
        title=piece.title,
        composer=piece.composer,
        key=(main_key(context) or "") if pitches else "",
        metre=_metre(piece),
        bars=len(piece.bars) - (1 if piece.bars and piece.bars[0].pickup else 0),
        notes=len(pitches),
        minutes=_minutes(context) if pitches else None,
        lowest=min(pitches, default=None),
        highest=max(pitches, default=None),
        warnings=piece.warnings,
    )


def _metre(piece: Piece) -> str:
    whole = next((bar for bar in piece.bars if not bar.pickup), None)
    return str(whole.time) if whole is not None else ""


def _minutes(context: object) -> float:
    from passagework.spots.context import Context

    assert isinstance(context, Context)
    bars = context.piece.bars
    seconds = sum(
        context.seconds(bars[i].end) - context.seconds(bars[i].onset)
        for i in context.piece.playing_order
    )
    return round(seconds / SECONDS, 2)
