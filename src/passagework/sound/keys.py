"""One key, one string: a key that is down must come up before it is struck again."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from passagework.sound.performance import PlayedNote

REPEAT_GAP_S = 0.03
"""Seconds for which a key is up before it is struck again, where there is time for it."""
GAP_SHARE = 0.5
"""Largest share of the time between two strokes of one key that it is up for that."""
TOGETHER_S = 0.001
"""Strokes of one key closer than this are one."""


def one_key_once(notes: Iterable[PlayedNote]) -> tuple[PlayedNote, ...]:
    """`notes` in order, none struck while its key is down.

    A unison of two voices struck together is one stroke, the louder and longer of both, with the id of the louder
    one and the other in `unison`; a key that another voice strikes while a longer note holds it is let go first, and held as long as the longer.
    """
    keys: dict[int, list[PlayedNote]] = defaultdict(list)
    for note in sorted(notes, key=lambda n: (n.start, n.pitch, -n.velocity, -n.end, n.id)):
        row = keys[note.pitch]
        if not row or note.start >= row[-1].end:
            if row and note.start - row[-1].end < REPEAT_GAP_S:
                row[-1] = _let_go(row[-1], note.start)
            row.append(note)
            continue
        last = row[-1]
        if note.start - last.start < TOGETHER_S:
            known = {last.id, *last.unison}
            more = () if note.id in known else (note.id,)
            row[-1] = replace(last, end=max(last.end, note.end), unison=(*last.unison, *more))
            continue
        longer = last.end if last.id != note.id and last.end - note.end > REPEAT_GAP_S else note.end
        row[-1] = _let_go(last, note.start)
        row.append(replace(note, end=max(note.end, longer)))
    found = [note for row in keys.values() for note in row]
    return tuple(sorted(found, key=lambda n: (n.start, n.pitch)))


def _let_go(note: PlayedNote, before: float) -> PlayedNote:
    """`note` ended in time for the next stroke of its key."""
    gap = min(REPEAT_GAP_S, GAP_SHARE * (before - note.start))
    return replace(note, end=min(note.end, before - gap))
