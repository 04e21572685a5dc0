"""A stretch that is played faster than its surroundings.

Conventions
-----------
* Tempo is that of the player's own beat, bar by bar, pauses taken out. A bar's *usual tempo* is the median over the bars around
  it (`AROUND` on either side) in the same pass; where the page changes the tempo, only bars under the same mark count.
* A stretch *rushes* where its bars are faster than usual by more than the player's tempo varies anyway: a rubato that comes and
  goes with every phrase widens what is taken for granted (a median of absolute deviations, over the whole pass).
* Also told is what the notes are: in running notes, or in long notes that are cut short.

Slower stretches are `passagework.listening.findings.tempo`'s.
"""

from __future__ import annotations

from collections.abc import Iterable

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.heard import Heard
from passagework.listening.tempo_stretches import (
    TempoStretch,
    joined_stretches,
    notes_of,
    texture_of,
)
from passagework.spots.spot import Evidence
from passagework.spots.words_of import times

SOURCE = "tempo of the own beat against the bars around"


def find(heard: Heard) -> Iterable[Finding]:
    """Yield a finding for each stretch that is faster than its surroundings."""
    for same in joined_stretches(heard, faster=True):
        yield _finding(heard, same)


def _finding(heard: Heard, same: list[TempoStretch]) -> Finding:
    worst = max(same, key=lambda s: abs(s.change))
    first, last = min(s.first_bar for s in same), max(s.last_bar for s in same)
    context = heard.context
    share = round(100 * worst.change)
    texture, kinds = texture_of(heard, worst)
    often = len({s.run for s in same})
    again = f" It was heard {times(often)}." if often > 1 else ""
    return Finding(
        "rushing",
        first,
        last,
        "both",
        notes_of(heard, worst),
        (
            Evidence("tempo above the bars around", share, "%", SOURCE),
            Evidence("tempo", round(worst.tempo), "crotchets a minute"),
            Evidence("tempo around", round(worst.usual), "crotchets a minute"),
            Evidence("ordinary variation of this player", round(100 * worst.ordinary, 1), "%"),
        ),
        f"{context.bar_names(range(first, last + 1)).capitalize()}: {share} per cent faster than the bars around{texture}.{again}",
        "Count the smallest notes aloud through these bars, with the metronome sounding only on the first beat of each.",
        min(0.55 + 0.1 * (abs(worst.change) / worst.limit - 1.0) + 0.1 * (often - 1), 0.95),
        min(0.3 + abs(worst.change) + 0.1 * (often - 1), 0.9),
        tuple(sorted({s.run for s in same})),
        (),
        kinds,
    )  # fmt: skip


KIND = FindingKind("rushing", "rushing", find)
