"""Takes of one piece over the weeks: tempo and findings, as figures and as one small picture."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from passagework.web.words import short_day

if TYPE_CHECKING:
    from passagework.studio.records import TakeRecord

WIDTH, HEIGHT = 720.0, 136.0
"""Of the picture of the tempo, in its own units."""
LEFT, RIGHT, TOP, BOTTOM = 200.0, 24.0, 12.0, 40.0
NEAREST: Final = 26.0
"""Two takes stand at least so far apart, so that takes of one evening can be told apart."""
ROW: Final = 30.0
"""Height of a row of findings."""
DAY_WIDTH: Final = 62.0
"""Room that a day takes under its mark; a take nearer to the last one that has its day goes without."""
KINDS_SHOWN: Final = 6
LARGEST: Final = 10.0
"""Radius of the mark of the most findings."""


@dataclass(frozen=True, slots=True)
class Point:
    """A take in the picture."""

    take: int
    x: float
    y: float | None
    """None where the tempo could not be told."""
    tempo: float | None
    when: datetime
    bars: int
    """How many bars it has."""
    day: str
    """The day as it stands under the mark; empty where there is no room."""


@dataclass(frozen=True, slots=True)
class KindRow:
    """How often a kind was found: for each take its count and the radius of its mark."""

    title: str
    y: float
    counts: tuple[tuple[float, int, float], ...]
    """x, count, radius."""


@dataclass(frozen=True)
class Weeks:
    """What the picture is drawn of, and the table beside it."""

    points: tuple[Point, ...]
    line: str
    """Points of the line that joins the tempos, for SVG."""
    scale: tuple[tuple[float, int], ...]
    """Heights with the tempo that stands there."""
    rows: tuple[KindRow, ...]
    width: float
    height: float
    others: int
    """Kinds found that have no row."""


def weeks_of(takes: Sequence[TakeRecord], titles: dict[str, str]) -> Weeks | None:
    """`takes` of one student and piece, in any order; None where fewer than two were measured."""
    rows = [t for t in takes if t.status == "measured" and t.summary.get("recognised")]
    rows.sort(key=lambda t: (t.recorded_at, t.id))
    if len(rows) < 2:
        return None
    xs = _places([t.recorded_at for t in rows if t.recorded_at is not None])
    tempos = [_number(t.summary.get("tempo")) for t in rows]
    low, high = _bounds([t for t in tempos if t is not None])
    points = tuple(
        Point(
            t.id,
            x,
            None if q is None else _height(q, low, high),
            q,
            t.recorded_at,
            int(t.summary.get("bars", 0)),
            day,
        )
        for t, x, q, day in zip(rows, xs, tempos, _days(rows, xs), strict=True)
        if t.recorded_at is not None
    )
    kinds = _kinds(rows)
    shown = kinds[:KINDS_SHOWN]
    most = max((c for k in shown for c in _counts(rows, k)), default=1)
    table = tuple(
        KindRow(
            titles.get(kind, kind), HEIGHT + ROW * (at + 0.7),
            tuple((x, c, round(LARGEST * (c / most) ** 0.5, 1)) for x, c in zip(xs, _counts(rows, kind), strict=True)),
        )
        for at, kind in enumerate(shown)
    )  # fmt: skip
    line = " ".join(f"{p.x:.1f},{p.y:.1f}" for p in points if p.y is not None)
    scale = tuple((_height(q, low, high), round(q)) for q in (low, high))
    width = max(WIDTH, xs[-1] + RIGHT)
    height = HEIGHT + ROW * len(shown) + ROW / 3
    return Weeks(points, line, scale, table, width, height, len(kinds) - len(shown))


def _number(value: object) -> float | None:
    return float(value) if isinstance(value, int | float) else None


def _places(moments: Sequence[datetime]) -> list[float]:
    """Places along the axis by their time, those too near one another moved apart."""
    first, last = moments[0].timestamp(), moments[-1].timestamp()
    long = max(last - first, 1.0)
    xs: list[float] = []
    for moment in moments:
        x = LEFT + 20 + (moment.timestamp() - first) / long * (WIDTH - LEFT - RIGHT - 40)
        xs.append(round(max(x, xs[-1] + NEAREST) if xs else x, 1))
    return xs


def _days(takes: Sequence[TakeRecord], xs: Sequence[float]) -> list[str]:
    """Day and month under the takes that have room for them."""
    found: list[str] = []
    last = -DAY_WIDTH
    for take, x in zip(takes, xs, strict=True):
        room = x - last >= DAY_WIDTH and take.recorded_at is not None
        words = short_day(take.recorded_at).split() if room and take.recorded_at else []
        found.append(f"{words[0]} {words[1][:3]}" if words else "")
        last = x if room else last
    return found


def _bounds(tempos: Sequence[float]) -> tuple[float, float]:
    """Tens that enclose the tempos, twenty apart at least."""
    if not tempos:
        return 0.0, 20.0
    low, high = 10.0 * (min(tempos) // 10), 10.0 * -(-max(tempos) // 10)
    if high - low >= 20:
        return low, high
    low = max(low - 10, 0.0)
    return low, max(high, low + 20)


def _height(tempo: float, low: float, high: float) -> float:
    return round(HEIGHT - BOTTOM - (tempo - low) / (high - low) * (HEIGHT - TOP - BOTTOM), 1)


def _kinds(takes: Sequence[TakeRecord]) -> list[str]:
    """Kinds found at all, the most frequent first."""
    total: dict[str, int] = {}
    for take in takes:
        for kind, count in _found(take).items():
            total[kind] = total.get(kind, 0) + count
    return sorted(total, key=lambda k: (-total[k], k))


def _counts(takes: Sequence[TakeRecord], kind: str) -> list[int]:
    return [_found(take).get(kind, 0) for take in takes]


def _found(take: TakeRecord) -> dict[str, int]:
    found = take.summary.get("findings")
    return {k: int(c) for k, c in found.items()} if isinstance(found, dict) else {}
