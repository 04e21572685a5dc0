"""What the three kinds of single slips share: gathered by bar and hand, weighed, over all passes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from passagework.listening.findings.patterns import Pattern
from passagework.listening.findings.slip_words import passes_over
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard

ONCE = 0.12
"""Weight of one slip, once: it says little."""
MORE = 0.07
"""Added for each further note of the same bar."""
IN_LINE = 0.06
"""Added where the tune or the bass is touched: it is heard."""
HABIT = 0.4
"""Added where the same note goes wrong in every one of several passes; less where it is right in some."""
SURE_ONCE, SURE_AGAIN = 0.7, 0.9
"""How sure a slip is that was heard once, and one that came back, where the place is well recognised."""


@dataclass(frozen=True, slots=True)
class Group:
    """The slips of one kind in one bar and hand."""

    pattern: Pattern
    again: tuple[str, ...]
    """Ids of the notes (for extra notes: keys as text) that went wrong in at least two passes."""
    passes: int
    """Passes that played the bar."""
    weight: float
    confidence: float

    @property
    def habit(self) -> bool:
        """Whether one of its notes comes back."""
        return bool(self.again)


def groups(heard: Heard, kind: Literal["wrong", "missing", "extra"]) -> Iterator[Group]:
    """The single slips of a kind by bar and hand, in order."""
    rows: dict[tuple[int, str], list[Slip]] = defaultdict(list)
    for slip in heard.slips.single:
        if slip.kind == kind:
            rows[slip.bar, slip.hand].append(slip)
    for _, row in sorted(rows.items()):
        yield _group(heard, row)


def _group(heard: Heard, row: Sequence[Slip]) -> Group:
    pattern = Pattern("", tuple(row), len(row))
    where: dict[str, set[int]] = defaultdict(set)
    for slip in row:
        where[_identity(heard, slip)].add(slip.run)
    again = tuple(name for name, runs in where.items() if len(runs) > 1)
    passes = max(passes_over(heard, pattern.first_bar, pattern.last_bar, pattern.hand), 1)
    most = max(len(runs) for runs in where.values())
    tune = heard.context.tune
    line = any(s.note and (s.note.id in tune.melody or s.note.id in tune.bass) for s in row)
    weight = ONCE + MORE * (len(where) - 1) + IN_LINE * line
    if again:
        weight += HABIT * most / passes
    sure = pattern.sure * (SURE_AGAIN if again else SURE_ONCE)
    return Group(pattern, again, passes, min(weight, 0.85), sure)


def _identity(heard: Heard, slip: Slip) -> str:
    if slip.note is not None:
        return slip.note.id
    return f"key {heard.take.notes[slip.played].pitch}" if slip.played is not None else ""
