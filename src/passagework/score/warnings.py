"""Collects what a reading had to repair, and says it in one sentence a kind, bars named first."""

from __future__ import annotations

BARS_NAMED = 12
"""Bars named in one sentence before "and N more" (a reader checks a dozen places, not a hundred)."""


class Warnings:
    """Things to tell, kept in order of first appearance and merged when they say the same."""

    def __init__(self) -> None:
        self._bars: dict[str, list[str]] = {}

    def add(self, text: str, bar: str | None = None) -> None:
        """Note `text`, about the bar printed as `bar` (None: about the whole file)."""
        bars = self._bars.setdefault(text, [])
        if bar is not None and (not bars or bars[-1] != bar):
            bars.append(bar)

    def sentences(self) -> tuple[str, ...]:
        """One sentence for each kind of thing: ``"bars 3, 7: a tie leads nowhere"``."""
        return tuple(_sentence(text, bars) for text, bars in self._bars.items())


def _sentence(text: str, bars: list[str]) -> str:
    if not bars:
        return text
    named = ", ".join(bars[:BARS_NAMED])
    more = len(bars) - BARS_NAMED
    if more > 0:
        named += f" and {more} more"
    return f"{'bar' if len(bars) == 1 else 'bars'} {named}: {text}"
