"""What a report says in words about a take, where its document has numbers; what to say first."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from passagework.guide.preparation import Preparation
    from passagework.listening.listen import Listened

SAY_FIRST: Final = 3
"""Things to say first."""
MOST_TOLD: Final = 300
"""Findings that are kept for the page; nobody reads more of one take."""


def tempo_of(listened: Listened) -> float | None:
    """The player's tempo in quarters a minute, the median over the bars; None where there was no beat to follow."""
    tempos = [t for beat in listened.heard.beats if beat for t in beat.bar_tempos.values()]
    return round(median(tempos), 1) if tempos else None


def take_page(preparation: Preparation, listened: Listened) -> dict[str, Any]:
    """What the page says in words, where the document has numbers."""
    from passagework.guide.take_music import music_of
    from passagework.listening.findings.table import all_finding_kinds
    from passagework.score.bar_names import bar_names

    piece = preparation.piece
    titles = {kind.name: kind.title for kind in all_finding_kinds()}

    def where(first: int, last: int) -> str:
        return bar_names(piece, range(first, last + 1))

    findings = listened.findings[:MOST_TOLD]
    first = first_things([f.kind for f in findings])
    passes = listened.alignment.passes
    return {
        "titles": titles,
        "where": [where(f.first_bar, f.last_bar) for f in findings],
        "first": first,
        "music": music_of(preparation, listened, [findings[at] for at in first]),
        "labels": [bar.label for bar in piece.bars],
        "passes": [where(p.first_bar, p.last_bar) for p in passes],
        "tempo": tempo_of(listened),
        "tempos": [_tempos(listened, run) for run in range(len(passes))],
    }


def _tempos(listened: Listened, run: int) -> list[list[float]]:
    beat = listened.heard.beats[run]
    return [[bar, round(t, 1)] for bar, t in sorted(beat.bar_tempos.items())] if beat else []


def first_things(kinds: list[str]) -> list[int]:
    """Which findings to say first, given their kinds with the weightiest first: one of a kind before a second of it."""
    seen: set[str] = set()
    fresh: list[int] = []
    again: list[int] = []
    for at, kind in enumerate(kinds):
        (again if kind in seen else fresh).append(at)
        seen.add(kind)
    return sorted((fresh + again)[:SAY_FIRST])
