"""Speeds from place to place as plain values, and what is done to them: steps, multiples, fermatas."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from passagework.analysis.tempo_events import Hold
from passagework.score.piece import Position

Source = Literal["marked", "file", "words", "assumed"]
"""``marked``: a printed metronome mark; ``file``: the file's playback tempo; ``words``: a tempo term."""

STEP_FACTOR = 1.18
"""What *più mosso* multiplies the speed by, *meno mosso* divides it by; *poco* half of it, in logarithm. An
assumption: metronome marks at such words in print lie about 1.05 to 1.4."""
STEP_RANGE = (1.05, 1.4)
FERMATA_FACTOR = 2.0
"""How much longer a held note is than written; taste and hall decide, so an assumption with a wide range."""
FERMATA_RANGE = (1.5, 3.0)


@dataclass(frozen=True, slots=True)
class TempoRow:
    """A speed in quarters a minute from `onset` on."""

    onset: Position
    speed: float
    source: Source
    low: float
    high: float
    id: str = ""
    origin: Position | None = None
    changing: int = 0


def times(row: TempoRow, factor: float, onset: Position, ident: str) -> TempoRow:
    """`row` multiplied by `factor` from `onset` on."""
    return TempoRow(
        onset, row.speed * factor, "words", row.low * factor, row.high * factor, ident, onset
    )


def stepped(row: TempoRow, direction: int, size: float, onset: Position, ident: str) -> TempoRow:
    """`row` a step faster (+1) or slower (-1), of that degree, from `onset` on."""
    small, large = STEP_RANGE
    factors = sorted((small ** (direction * size), large ** (direction * max(size, 1.0))))
    return TempoRow(
        onset, row.speed * STEP_FACTOR ** (direction * size), "words", row.low * factors[0],
        row.high * factors[1], ident, onset,
    )  # fmt: skip


def clean(rows: Sequence[TempoRow], end: Position) -> list[TempoRow]:
    """Rows in order, the last word at each position, none beyond the end."""
    found: dict[Position, TempoRow] = {}
    for row in rows:
        if row.onset < end or not found:
            found[row.onset] = row
    return [found[onset] for onset in sorted(found)]


def held_longer(rows: list[TempoRow], fermatas: Sequence[Hold]) -> list[TempoRow]:
    """Lay the fermatas over the speeds: time passes more slowly under each."""
    if not fermatas:
        return rows
    cuts = {r.onset for r in rows} | {h.onset for h in fermatas} | {h.end for h in fermatas}
    found: list[TempoRow] = []
    at = hold = 0
    for onset in sorted(cuts):
        while at + 1 < len(rows) and rows[at + 1].onset <= onset:
            at += 1
        while hold < len(fermatas) and fermatas[hold].end <= onset:
            hold += 1
        row = replace(rows[at], onset=onset)
        if hold < len(fermatas) and fermatas[hold].onset <= onset:
            row = replace(
                row, speed=row.speed / FERMATA_FACTOR, low=row.low / FERMATA_RANGE[1],
                high=row.high / FERMATA_RANGE[0],
                id=fermatas[hold].id, origin=None, changing=-1,
            )  # fmt: skip
        found.append(row)
    return found
