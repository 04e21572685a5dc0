"""Strokes that play out an ornament: neither matched nor extra.

The page asks for them without writing each: a trill, turn, mordent or tremolo by its sign, or a shake written out, of which a player may
strike more or fewer than are written.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from passagework.listening.align_events import Shaken
from passagework.listening.align_runs import Run
from passagework.listening.take import PlayedNote

BEFORE_S = 0.3
AFTER_S = 0.2
"""Seconds before the note and after its end at which its ornament may still be struck."""


def ornamental(
    run: Run,
    times: NDArray[np.float64],
    spans: Sequence[Shaken],
    notes: Sequence[PlayedNote],
    extra: Sequence[int],
) -> set[int]:
    """Those of the strokes `extra` that belong to an ornament in `spans`, by the line of time of the run."""
    found: set[int] = set()
    if not extra:
        return found
    onsets = np.array([notes[s].onset for s in extra])
    pitches = np.array([notes[s].pitch for s in extra])
    places = {event: place for place, event in reversed(list(enumerate(run.events)))}
    quarters = np.array(run.quarters)
    for span in spans:
        place = places.get(span.first)
        if place is None:
            continue
        end = float(np.interp(run.quarters[place] + span.end - span.start, quarters, times))
        low, high = np.searchsorted(onsets, (times[place] - BEFORE_S, end + AFTER_S))
        if low < high:
            row = np.flatnonzero(np.isin(pitches[low:high], span.keys)) + low
            found |= {extra[int(i)] for i in row}
    return found
