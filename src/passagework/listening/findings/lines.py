"""A pass as a row in time: where the player was when, to say what a stray stroke or a missing note belongs to."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Sequence

import numpy as np
from numpy.typing import NDArray

from passagework.listening.alignment import Match
from passagework.listening.heard import Heard
from passagework.listening.take import PlayedNote
from passagework.score.piece import sort_key
from passagework.spots.spot import SpotHand

PAIR_S, PAIR_SHARE = 0.12, 0.4
"""A key struck within this time of a note left out, or this share of the time to its neighbours, was meant for it."""
EARLY = 0.05
"""Quarters before a bar line from which a stroke belongs to the bar after it: fingers are not exact to the millisecond."""
NEAR_STROKES = 6
"""Matched strokes on either side whose nearest key tells which hand struck a stray one."""


class Line:
    """A pass with at least two places struck."""

    def __init__(
        self,
        heard: Heard,
        run: int,
        row: Sequence[Match],
        places: NDArray[np.float64],
        times: NDArray[np.float64],
    ) -> None:
        self.run, self.matches = run, tuple(row)
        self._heard = heard
        self._places, self._times = places, times
        self._bars = np.array([sort_key(b.onset) for b in heard.piece.bars])
        self._strokes = [heard.stroke(m) for m in row]
        self._onsets = [s.onset for s in self._strokes]

    def time(self, place: float) -> float:
        """Second at which a position (quarters) was to be expected."""
        return float(np.interp(place, self._places, self._times))

    def without(self, bars: Collection[int]) -> Callable[[float], float]:
        """The same as `time`, from what was struck outside these bars alone: straight across them."""
        at = np.searchsorted(self._bars, self._places + EARLY, side="right") - 1
        calm = ~np.isin(at, list(bars))
        places, times = self._places[calm], self._times[calm]
        if len(places) < 2:
            return self.time
        return lambda place: float(np.interp(place, places, times))

    def place(self, time: float) -> float:
        """Position (quarters) at which the player was at a second."""
        return float(np.interp(time, self._times, self._places))

    def bar(self, place: float) -> int:
        """Index of the bar of a position."""
        return max(int(np.searchsorted(self._bars, place + EARLY, side="right")) - 1, 0)

    def tolerance(self, place: float) -> float:
        """Seconds within which a stroke may belong to a position."""
        return max(PAIR_S, PAIR_SHARE * self.gap(place))

    def gap(self, place: float) -> float:
        """Seconds between the places struck before and after (or at) a position."""
        at = int(np.clip(np.searchsorted(self._places, place), 1, len(self._places) - 1))
        return float(self._times[at] - self._times[at - 1])

    def hand(self, stroke: PlayedNote) -> SpotHand:
        """The hand that struck a stray key: that of the nearest key struck about then."""
        at = bisect_left(self._onsets, stroke.onset)
        near = range(max(at - NEAR_STROKES, 0), min(at + NEAR_STROKES, len(self._strokes)))
        closest = min(
            near,
            key=lambda k: (
                abs(self._strokes[k].pitch - stroke.pitch),
                abs(self._onsets[k] - stroke.onset),
            ),
        )
        return self._heard.note(self.matches[closest]).hand


def lines_of(heard: Heard) -> tuple[Line | None, ...]:
    """The line of every pass; None for one of less than two places."""
    return tuple(_line(heard, run, row) for run, row in enumerate(heard.alignment.by_pass))


def _line(heard: Heard, run: int, row: Sequence[Match]) -> Line | None:
    first: dict[float, float] = {}
    for match in row:
        note = heard.note(match)
        if note.grace or note.arpeggio:
            continue
        place, onset = sort_key(note.onset), heard.stroke(match).onset
        first[place] = min(first.get(place, onset), onset)
    if len(first) < 2:
        return None
    places = np.array(sorted(first))
    times = np.maximum.accumulate(np.array([first[p] for p in sorted(first)]))
    times = times + np.arange(len(times)) * 1e-9  # rising, so that it can be read both ways
    return Line(heard, run, row, places, times)
