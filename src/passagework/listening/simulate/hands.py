"""What fingers add to the clock: the louder note early, chords not quite together, a little chance."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from passagework.listening.simulate.strike import Strike

LEAD_PER_STEP_S = 0.0018
"""Seconds by which a key comes earlier for each velocity step above its neighbours: some 30 ms for the usual ten to twenty
steps between tune and accompaniment (Goebl, 2001, who shows that the hammer's travel explains it)."""
HAND_SD, FINGER_SD = 0.007, 0.005
"""Standard deviations in seconds of a hand's attack and of a finger within it, together some 9 ms: what a good pianist's
notes scatter round the intended time (Repp, 1995; Goebl, 2001)."""
QUICK_S = 0.2
"""Interval below which the scatter shrinks with the interval: pianists' scales at eight notes a second are even to some 8 ms
from note to note (Jabusch, Vauth and Altenmueller, 2004)."""
LEAST = 0.4
"""Share of the scatter that always stays."""


def humanise(strikes: Sequence[Strike], rng: np.random.Generator) -> None:
    """Move the strokes of a pass as hands and fingers do."""
    rows: dict[tuple[str, float], list[Strike]] = defaultdict(list)
    for strike in strikes:
        rows[strike.hand, round(strike.onset, 4)].append(strike)
    before: dict[str, float] = {}
    for (hand, onset), row in sorted(rows.items(), key=lambda item: (item[0][1], item[0][0])):
        gap = onset - before.get(hand, onset - 1.0)
        before[hand] = onset
        share = min(max(gap / QUICK_S, LEAST), 1.0)
        together = float(rng.normal(0.0, HAND_SD)) * share
        for strike in row:
            finger = float(rng.normal(0.0, FINGER_SD)) * share if strike.main else 0.0
            strike.move(together + finger - LEAD_PER_STEP_S * strike.lift)
