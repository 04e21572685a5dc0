"""Joins tied noteheads into the notes that sound."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.score.heads import Head
from passagework.score.warnings import Warnings

WIDEST_GAP = 8
"""Quarters between the end of a head and the head that its tie leads to: the notes of a figure are
tied into the chord that they build, over whatever their voice has in between."""

MOST_OPEN = 32
"""Ties of one pitch looked through for the one that ends at a head (rarely are there three)."""


def join_ties(
    heads: Sequence[Head],
    excused: frozenset[int],
    labels: Sequence[str],
    divisions: int,
    warnings: Warnings,
) -> list[list[int]]:
    """Groups of indices into `heads`, each one sounding note, its first head first.

    A tie leads to the next head of the same sound that begins where this one ends, the same voice
    preferred; failing that, to the next one that says a tie ends there. In one voice one end is
    enough: some programs type only starts. Ties that lead nowhere are reported and ignored, but not in bars of the set `excused`: at the edges of repeats the other
    side stands elsewhere on the page.
    """
    joiner = _Joiner(heads, WIDEST_GAP * divisions)
    for group in joiner.late:
        head = heads[group]
        if head.bar not in excused:
            warnings.add("a tie comes from nowhere and is ignored", labels[head.bar])
    for head in joiner.open_ends():
        if head.bar not in excused and not head.signs.let_ring:
            warnings.add("a tie leads nowhere and is ignored", labels[head.bar])
    return joiner.groups


class _Joiner:
    def __init__(self, heads: Sequence[Head], gap: int) -> None:
        self._heads = heads
        self._gap = gap
        self._open: dict[int, list[list[int]]] = {}
        self._closed: dict[int, list[list[int]]] = {}
        self.groups: list[list[int]] = []
        self.late: list[int] = []
        order = sorted(range(len(heads)), key=lambda i: (heads[i].onset, not heads[i].grace))
        for index in order:
            self._place(index)

    def _place(self, index: int) -> None:
        head = self._heads[index]
        group = self._continued(head) if head.signs.tie_stop else self._expected(head)
        if group is None:
            group = [index]
            self.groups.append(group)
            if head.signs.tie_stop:
                self.late.append(index)
        else:
            group.append(index)
        rows = self._open if head.signs.tie_start else self._closed
        rows.setdefault(head.midi, []).append(group)

    def open_ends(self) -> Iterable[Head]:
        """The heads whose tie leads nowhere, in order."""
        rest = sorted(g[-1] for rows in self._open.values() for g in rows)
        return (self._heads[i] for i in rest)

    def _continued(self, head: Head) -> list[int] | None:
        """The group that `head` continues, taken off the lists."""
        rows = self._open.get(head.midi, [])
        recent = rows[-MOST_OPEN:]
        chosen = self._nearest([g for g in recent if self._meets(g, head)], head)
        if chosen is None:
            chosen = self._nearest([g for g in recent if self._leads_over(g, head)], head)
        if chosen is not None:
            rows.remove(chosen)
            return chosen
        return self._unmarked(head)

    def _expected(self, head: Head) -> list[int] | None:
        """The tie of the same voice that ends exactly here, where only its start is typed."""
        if head.grace:
            return None
        rows = self._open.get(head.midi, [])
        for group in reversed(rows[-MOST_OPEN:]):
            last = self._heads[group[-1]]
            here = last.voice == head.voice and last.staff == head.staff
            if here and last.end == head.onset and last.duration and not last.signs.let_ring:
                rows.remove(group)
                return group
        return None

    def _unmarked(self, head: Head) -> list[int] | None:
        """A head of the same voice that ends here and lacks only its own end of the tie."""
        rows = self._closed.get(head.midi, [])
        for group in reversed(rows[-4:]):
            last = self._heads[group[-1]]
            if last.voice == head.voice and last.end == head.onset and last.duration:
                rows.remove(group)
                return group
        return None

    def _nearest(self, rows: list[list[int]], head: Head) -> list[int] | None:
        if not rows:
            return None
        return min(
            reversed(rows),
            key=lambda g: (
                self._heads[g[-1]].voice != head.voice,
                self._heads[g[-1]].staff != head.staff,
            ),
        )

    def _meets(self, group: list[int], head: Head) -> bool:
        last = self._heads[group[-1]]
        if last.grace:
            return last.onset == head.onset and not head.grace
        return last.end == head.onset

    def _leads_over(self, group: list[int], head: Head) -> bool:
        """Whether the tie can lead to `head` over a gap."""
        last = self._heads[group[-1]]
        return last.end < head.onset <= last.end + self._gap
