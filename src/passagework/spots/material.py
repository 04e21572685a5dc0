"""Which places of a piece are the same material, at the same pitch or moved to another step.

A bar of one hand is *the same* as another where every note lies at the same place in the bar and has the same pitch,
and *moved* where the pattern of staff steps is the same from another note. A moved place needs
`ENOUGH_NOTES`, for two plain chords are alike without being the same material.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace

from passagework.score.piece import Piece
from passagework.spots.spot import Candidate, SpotHand

SAME_MATERIAL = 0.75
"""Share of equal bars from which two places are the same material."""

ENOUGH_NOTES = 6
"""Notes of a place whose pattern can be known again on another step."""


@dataclass(frozen=True, slots=True)
class Print:
    """What one bar holds for one hand (or both)."""

    exact: Hashable
    """Places in the bar and pitches; the same for bars that are the same."""
    pattern: Hashable
    """Places in the bar and staff steps above the lowest note."""
    lowest: int
    """Staff steps of the lowest note above C0."""
    notes: int


Prints = Sequence[dict[SpotHand, Print]]
"""For every bar of the piece and each hand that plays in it."""


def bar_prints(piece: Piece) -> Prints:
    """The prints of every bar."""
    result: list[dict[SpotHand, Print]] = []
    for bar, row in zip(piece.bars, piece.notes_of_bar, strict=True):
        hands: dict[SpotHand, list[tuple[int, int, int]]] = {}
        start = piece.ticks(bar.onset)
        for note in row:
            item = piece.ticks(note.onset) - start, note.midi, note.pitch.diatonic
            hands.setdefault(note.hand, []).append(item)
        if len(hands) == 2:
            hands["both"] = hands["left"] + hands["right"]
        elif hands:
            (only,) = hands.values()
            hands["both"] = only
        result.append({side: _print(items) for side, items in hands.items()})
    return result


def _print(items: list[tuple[int, int, int]]) -> Print:
    lowest = min(step for _, _, step in items)
    exact = frozenset((at, midi) for at, midi, _ in items)
    pattern = frozenset((at, step - lowest) for at, _, step in items)
    return Print(exact, pattern, lowest, len(items))


def gather(
    places: Sequence[Sequence[Candidate]], prints: Prints, *, moves: bool
) -> list[list[list[Candidate]]]:
    """Places (each the candidates of one) that are one material, in order. Where material also counts on
    other steps (`moves`), the candidates of a place that stands on others than the first of its list get
    their `shift`.

    A place joins the list that most of its bars were met in, `SAME_MATERIAL` of them at least. Linear in
    the number of bars covered.
    """
    exact: dict[Hashable, tuple[int, int]] = {}
    moved: dict[Hashable, tuple[int, int]] = {}
    lists: list[list[list[Candidate]]] = []
    for place in places:
        first = place[0]
        key = (first.hand, first.family)
        last_bar = max(c.last_bar for c in place)
        own = [p[first.hand] for p in prints[first.first_bar : last_bar + 1] if first.hand in p]
        best = _most([exact.get((*key, p.exact)) for p in own])
        if best is None and moves and sum(p.notes for p in own) >= ENOUGH_NOTES:
            met = [(moved.get((*key, p.pattern)), p.lowest) for p in own]
            best = _most([(m[0], low - m[1]) if m and m[1] != low else None for m, low in met])
        if best is None:
            best = len(lists), 0
            lists.append([])
        at, shift = best
        lists[at].append([replace(c, shift=shift) for c in place] if shift else list(place))
        for item in own:
            exact.setdefault((*key, item.exact), best)
            moved.setdefault((*key, item.pattern), (at, item.lowest - shift))
    return lists


def _most(met: Sequence[tuple[int, int] | None]) -> tuple[int, int] | None:
    """The list and shift that most bars agree on, None where fewer than `SAME_MATERIAL` do."""
    votes = Counter(m for m in met if m is not None)
    if not votes:
        return None
    best, count = max(votes.items(), key=lambda row: (row[1], -row[0][0]))
    return best if count >= SAME_MATERIAL * len(met) else None
