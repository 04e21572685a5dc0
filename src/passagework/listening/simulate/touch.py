"""How long keys are held: legato with a little overlap, staccato short, otherwise let go just before the next."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict

import numpy as np

from passagework.listening.simulate.strike import SHORTEST_S, Strike
from passagework.score.piece import Note, Position
from passagework.spots.context import Context

SHARES = {"staccatissimo": 0.25, "staccato": 0.45, "portato": 0.75}
"""Share of the written time: methods teach a quarter, half and three quarters."""
OVERLAP_S, OVERLAP_SD = 0.03, 0.015
"""Seconds that a legato note reaches into the next (Repp, 1995: some tens of milliseconds at ordinary speed)."""
OVERLAP_SHARE = 0.25
"""Largest share of a quick note that is overlap."""
RELEASE_SHARE, RELEASE_S = 0.12, 0.08
"""Share of an ordinary note, and at most so many seconds, that pass between its release and the next note."""


class Touches:
    """How each note of a piece is touched."""

    def __init__(self, context: Context) -> None:
        self._context = context
        self._slurs = _slurs(context)
        rows = [
            (mark.onset, mark.staff, effect.verb, effect.negated)
            for mark in context.marks
            for effect in mark.phrase.of("touch")
        ]
        self._words = {
            staff: [
                (onset, "legato" if verb == "smooth" and not negated else "staccato")
                for onset, at, verb, negated in rows
                if (verb == "smooth" and not negated) or (verb == "detached" and at == staff)
            ]
            for staff in range(1, context.piece.staves + 1)
        }

    def of(self, note: Note) -> str:
        """``legato``, ``staccato``, ``staccatissimo``, ``portato``, ``tenuto`` or ``ordinary``."""
        signs, slurred = note.articulations, self._slurred(note)
        if signs & {"staccatissimo", "spiccato"}:
            return "staccatissimo"
        if "staccato" in signs:
            return "portato" if slurred or "tenuto" in signs else "staccato"
        if slurred:
            return "legato"
        if "tenuto" in signs:
            return "tenuto"
        words = self._words.get(note.staff, [])
        at = bisect_right(words, note.onset, key=lambda row: row[0]) - 1
        return words[at][1] if at >= 0 else "ordinary"

    def _slurred(self, note: Note) -> bool:
        """Whether a slur leads on from `note`: the last note under a slur is let go."""
        starts, ends = self._slurs.get((note.staff, note.voice), ([], []))
        at = bisect_right(starts, note.onset) - 1
        return at >= 0 and note.onset < ends[at]


def _slurs(context: Context) -> dict[tuple[int, str], tuple[list[Position], list[Position]]]:
    """For each voice its slurs as onsets and ends (of their last notes' onsets), none inside another."""
    by_id = context.piece.by_id
    rows: dict[tuple[int, str], list[tuple[Position, Position]]] = defaultdict(list)
    for slur in context.piece.slurs:
        first, last = by_id.get(slur.first), by_id.get(slur.last)
        if first is None or last is None or last.onset <= first.onset:
            continue
        for key in {(first.staff, first.voice), (last.staff, last.voice)}:
            rows[key].append((first.onset, last.onset))
    found: dict[tuple[int, str], tuple[list[Position], list[Position]]] = {}
    for key, spans in rows.items():
        starts: list[Position] = []
        ends: list[Position] = []
        for start, end in sorted(spans):
            if ends and start < ends[-1]:
                ends[-1] = max(ends[-1], end)
            else:
                starts.append(start)
                ends.append(end)
        found[key] = (starts, ends)
    return found


def release(touch: str, strike: Strike, rng: np.random.Generator) -> None:
    """Let the key go as `touch` asks; `strike` ends where it is written to end."""
    written = max(strike.end - strike.onset, SHORTEST_S)
    if touch == "legato":
        reach = max(float(rng.normal(OVERLAP_S, OVERLAP_SD)), 0.0)
        strike.end += min(reach, OVERLAP_SHARE * written)
    elif touch in SHARES:
        share = SHARES[touch] * (1.0 + 0.12 * float(rng.normal()))
        strike.end = strike.onset + max(min(share, 1.0) * written, SHORTEST_S)
    elif touch == "ordinary":
        gap = min(RELEASE_SHARE * written, RELEASE_S) * (1.0 + 0.3 * float(rng.normal()))
        strike.end -= min(max(gap, 0.0), 0.5 * written)
    strike.end = max(strike.end, strike.onset + SHORTEST_S)
