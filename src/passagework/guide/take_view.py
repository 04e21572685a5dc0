"""What the report of a take shows, from its document and the words beside it: findings in words, the passes as a picture, then and now."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from passagework.teaching.student import TakeHeard

SURE: Final = ((0.8, "sure"), (0.5, "fairly sure"), (0.0, "not sure"))
"""How sure a finding is, in words, from which confidence on."""
WIDTH, ROW, HEAD = 760.0, 64.0, 22.0
"""Of the picture of the passes, in its own units: its width, the height of a pass, and of the bar numbers above."""
LEFT, RIGHT = 16.0, 16.0
CURVE: Final = 30.0
"""Height of the tempo's curve in a pass."""
MOST_PASSES: Final = 12
MOST_NUMBERS: Final = 16
EVIDENCE_SHOWN: Final = 6


@dataclass(frozen=True)
class Told:
    """A finding in words."""

    title: str
    where: str
    reason: str
    advice: str
    sure: str
    hand: str
    measures: tuple[tuple[str, str], ...]
    spot: str
    weight: float
    first_bar: int


@dataclass(frozen=True)
class PassRow:
    """A pass in the picture."""

    words: str
    y: float
    x1: float
    x2: float
    curve: str
    """Points of its tempo, empty where there is none."""
    marks: tuple[tuple[float, float], ...]
    """Where bars with findings begin, and how wide they are."""


@dataclass(frozen=True)
class Picture:
    """The passes, bars from left to right."""

    rows: tuple[PassRow, ...]
    numbers: tuple[tuple[float, str], ...]
    height: float
    more: int


@dataclass(frozen=True)
class Changed:
    """A kind of finding, then and now."""

    title: str
    then: int
    now: int


def told(result: Mapping[str, Any]) -> list[Told]:
    """Every finding in words, the weightiest first."""
    page = result["page"]
    rows = zip(result["take"]["findings"], page["where"], strict=False)
    return [_told(row, where, page["titles"]) for row, where in rows]


def _told(row: Mapping[str, Any], where: str, titles: Mapping[str, str]) -> Told:
    title = titles.get(row["kind"], row["kind"])
    measures = list(row["measure"].items())[:EVIDENCE_SHOWN]
    return Told(
        title[:1].upper() + title[1:],
        where,
        row["reason"],
        row["advice"],
        next(words for least, words in SURE if row["confidence"] >= least),
        "" if row["hand"] == "both" else f"{row['hand']} hand",
        tuple((name, f"{_figure(v['value'])} {v['unit']}".strip()) for name, v in measures),
        row["spot"] or "",
        row["weight"],
        row["first_bar"],
    )


def _figure(value: Any) -> str:
    return f"{value:.4g}" if isinstance(value, float) else str(value)


def picture(result: Mapping[str, Any]) -> Picture | None:
    """The passes over the bars; None where nothing was recognised."""
    take, page = result["take"], result["page"]
    passes = take["passes"]
    if not passes:
        return None
    first: int = min(p["first_bar"] for p in passes)
    last: int = max(p["last_bar"] for p in passes)
    wide: float = (WIDTH - LEFT - RIGHT) / (last - first + 1)

    def at(bar: float) -> float:
        return round(LEFT + (bar - first) * wide, 1)

    curves = [{int(b): float(t) for b, t in rows} for rows in page["tempos"]]
    every = [t for curve in curves for t in curve.values()]
    low, high = (min(every), max(every)) if every else (0.0, 0.0)
    rows = []
    for run, one in enumerate(passes[:MOST_PASSES]):
        y = HEAD + ROW * run
        bars = _bars_with_findings(take["findings"], run, one["first_bar"], one["last_bar"])
        rows.append(
            PassRow(
                f"{page['passes'][run]}{'' if one['hand'] == 'both' else ', ' + one['hand'] + ' hand'}",
                y,
                at(one["first_bar"]),
                at(one["last_bar"] + 1),
                _curve(curves[run], at, y, low, high),
                tuple((at(bar), round(wide, 1)) for bar in bars),
            )
        )
    step = -(-(last - first + 1) // MOST_NUMBERS)
    numbers = tuple((at(bar), page["labels"][bar]) for bar in range(first, last + 1, step))
    return Picture(tuple(rows), numbers, HEAD + ROW * len(rows), max(0, len(passes) - MOST_PASSES))


def _bars_with_findings(
    findings: Sequence[Mapping[str, Any]], run: int, first: int, last: int
) -> list[int]:
    found: set[int] = set()
    for row in findings:
        if not row["passes"] or run in row["passes"]:
            found.update(range(max(first, row["first_bar"]), min(last, row["last_bar"]) + 1))
    return sorted(found)


def _curve(tempos: Mapping[int, float], at: Any, y: float, low: float, high: float) -> str:
    if len(tempos) < 2 or high <= 0:
        return ""
    span = max(high - low, 0.1 * high)
    return " ".join(
        f"{at(bar + 0.5)},{round(y + 6 + CURVE * (1 - (tempo - low) / span), 1)}"
        for bar, tempo in sorted(tempos.items())
    )


def compared(
    now: Mapping[str, Any], then: Mapping[str, Any], titles: Mapping[str, str]
) -> tuple[list[Changed], int]:
    """Kinds of finding in two results, those that changed most first, and how many bars both takes have.

    Only those bars count: a take of half a piece has not got half of its faults cured.
    """
    both = played_bars(now["take"]) & played_bars(then["take"])
    before, after = (_counts(result["take"], both) for result in (then, now))
    rows = [
        Changed(titles.get(kind, kind), before.get(kind, 0), after.get(kind, 0))
        for kind in {*before, *after}
    ]
    return sorted(rows, key=lambda r: (-abs(r.now - r.then), r.title)), len(both)


def played_bars(take: Mapping[str, Any]) -> set[int]:
    """Indices of the bars that a take has."""
    return {bar for p in take["passes"] for bar in range(p["first_bar"], p["last_bar"] + 1)}


def _counts(take: Mapping[str, Any], bars: Collection[int]) -> Counter[str]:
    return Counter(
        row["kind"]
        for row in take["findings"]
        if any(bar in bars for bar in range(row["first_bar"], row["last_bar"] + 1))
    )


def shown_kinds(heard: TakeHeard | None, titles: Mapping[str, str]) -> list[str]:
    """Kinds of difficulty that the take shows to be secure, the hardest first."""
    rows = sorted(heard.shown, key=lambda s: -s.value) if heard else []
    return [titles[s.kind] for s in rows if s.kind in titles]
