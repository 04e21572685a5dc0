"""One key, one string: a key that is down must come up before it is struck again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from passagework.listening.simulate.strike import Strike

REPEAT_GAP_S, GAP_SHARE = 0.03, 0.5
"""Seconds for which a key is up before it is struck again, and the largest share of the time between that this takes."""
TOGETHER_S = 0.045
"""Two voices that strike one key within this time strike it once."""


def one_key_once(strikes: Iterable[Strike]) -> tuple[list[Strike], dict[int, list[Strike]]]:
    """The strokes that can be played, in order of onset and pitch, and those that others play for them, by the
    place of these in the list: unisons of two voices.
    """
    rows: dict[int, list[Strike]] = defaultdict(list)
    shared: dict[int, list[Strike]] = defaultdict(list)
    for strike in sorted(
        strikes, key=lambda s: (s.onset, s.pitch, not s.meant, not s.main, s.note.id)
    ):
        row = rows[strike.pitch]
        last = row[-1] if row else None
        same = last is not None and strike.note.id == last.note.id
        if last is not None and not same and strike.onset - last.onset < TOGETHER_S:
            first, second = (last, strike) if _rank(last) >= _rank(strike) else (strike, last)
            first.onset, first.end = last.onset, max(last.end, strike.end)
            row[-1] = first
            shared[id(first)] = [*shared.pop(id(last), []), second]
            continue
        if last is not None and last.end > strike.onset - REPEAT_GAP_S:
            gap = min(REPEAT_GAP_S, GAP_SHARE * (strike.onset - last.onset))
            last.end = min(last.end, strike.onset - gap)
        row.append(strike)
    found = sorted((s for row in rows.values() for s in row), key=lambda s: (s.onset, s.pitch))
    places = {id(s): k for k, s in enumerate(found)}
    return found, {places[key]: row for key, row in shared.items()}


def _rank(strike: Strike) -> tuple[bool, bool, bool, int]:
    """What the stroke of a unison counts as: the note whose own key it is, a main note, the louder one."""
    return (
        strike.meant and strike.pitch == strike.note.midi,
        strike.meant,
        strike.main,
        strike.velocity,
    )
