"""Written notes that did not sound.

What an ornament, a unison or small print leaves open is not counted (`passagework.listening.findings.slips`). Where the
same note of every chord is gone, `dropped_note` says so and this module does not.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.single_slips import Group, groups
from passagework.listening.findings.slip_words import NAMED, distinct, how_often, key_name, named
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital

SOURCE = "written notes between the first and last ones struck"


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each bar and hand with missing notes."""
    for group in groups(heard, "missing"):
        pattern = group.pattern
        bar = heard.context.bar_names([pattern.first_bar])
        rows = sorted(
            distinct(pattern.slips), key=lambda s: (s.note.id if s.note else "") not in group.again
        )
        fifths = heard.piece.bars[pattern.first_bar].fifths
        names = [key_name(s.note.pitch, fifths) for s in rows if s.note]
        runs = len({s.run for s in pattern.slips if s.note and s.note.id in group.again}) or len(
            pattern.runs
        )
        verb = "does not sound" if len(names) == 1 else "do not sound"
        yield Finding(
            "missing-notes",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("missing notes", len(rows), "", SOURCE),
                Evidence("passes with them", len(pattern.runs)),
                Evidence("passes that played the bar", group.passes),
            ),
            f"{capital(bar)}, {pattern.hand} hand: {named(names)} {verb}{how_often(runs, group.passes)}"
            f"{f', {len(names)} notes in all' if len(names) > NAMED else ''}.",
            _advice(group, bar, names),
            group.confidence,
            group.weight,
            pattern.runs,
            pattern.played,
            _kinds(heard, rows),
        )


def _advice(group: Group, bar: str, names: Sequence[str]) -> str:
    if group.habit:
        return f"In {bar} play {names[0]} alone and listen to it, then with its neighbours, slowly, until it is heard three times in a row."
    return f"Play {bar} slowly once and listen for {names[0]}; if it is there, it was a slip."


def _kinds(heard: Heard, rows: Sequence[Slip]) -> tuple[str, ...]:
    notes = [s.note for s in rows if s.note]
    chords = any(
        len(a.notes) > 1
        for n in notes
        if (a := heard.context.attack_at.get((n.hand, n.onset))) is not None
    )
    return (
        ("double-notes", "two-voices", "soft-playing")
        if chords
        else ("passagework", "soft-playing")
    )


KIND = FindingKind("missing-notes", "missing notes", find)
