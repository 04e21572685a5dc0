"""Another key struck in a note's place.

A slip that comes once says little; the same note wrong in several passes has been learnt wrong. Notes that share a cause (the old
key, a lapsed accidental, a misreading) are told by the module of that cause and not here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from passagework.listening.finding import Finding
from passagework.listening.findings.kinds import FindingKind
from passagework.listening.findings.single_slips import Group, groups
from passagework.listening.findings.slip_words import (
    distinct,
    how_often,
    key_name,
    named,
    spelled_like,
)
from passagework.listening.findings.slips import Slip
from passagework.listening.heard import Heard
from passagework.spots.spot import Evidence
from passagework.spots.words_of import capital, counted

SOURCE = "keys struck against the page"

WIDE = 5
"""Semitones from which a wrong key is a missed leap rather than a neighbour."""


def find(heard: Heard) -> Iterable[Finding]:
    """Yield one finding for each bar and hand with wrong notes."""
    for group in groups(heard, "wrong"):
        pattern = group.pattern
        bar = heard.context.bar_names([pattern.first_bar])
        rows = _first_ones(group, distinct(pattern.slips))
        parts = [_said(heard, slip) for slip in rows]
        runs = len({s.run for s in pattern.slips if s.note and s.note.id in group.again}) or len(
            pattern.runs
        )
        many = f"{counted(len(rows), 'wrong note')}: " if len(rows) > 1 else ""
        learnt = " It comes back, so it has been learnt wrong." if group.habit else ""
        yield Finding(
            "wrong-notes",
            pattern.first_bar,
            pattern.last_bar,
            pattern.hand,
            pattern.note_ids,
            (
                Evidence("wrong notes", len(rows), "", SOURCE),
                Evidence("furthest from the written key", _furthest(heard, rows), "semitones"),
                Evidence("passes with them", len(pattern.runs)),
                Evidence("passes that played the bar", group.passes),
            ),
            f"{capital(bar)}, {pattern.hand} hand: {many}{named(parts)}{how_often(runs, group.passes)}.{learnt}",
            _advice(group, bar, heard, rows),
            group.confidence,
            group.weight,
            pattern.runs,
            pattern.played,
            _kinds(heard, rows),
        )


def _first_ones(group: Group, rows: list[Slip]) -> list[Slip]:
    """What comes back is said first."""
    return sorted(rows, key=lambda s: (s.note.id if s.note else "") not in group.again)


def _key(heard: Heard, slip: Slip) -> int:
    return heard.take.notes[slip.played].pitch if slip.played is not None else 0


def _said(heard: Heard, slip: Slip) -> str:
    assert slip.note is not None
    struck = spelled_like(heard, slip.note, _key(heard, slip))
    fifths = heard.piece.bars[slip.bar].fifths
    return f"{key_name(struck, fifths, slip.note.pitch)} instead of {key_name(slip.note.pitch, fifths, struck)}"


def _furthest(heard: Heard, rows: Sequence[Slip]) -> int:
    return max(abs(_key(heard, s) - s.note.midi) for s in rows if s.note)


def _advice(group: Group, bar: str, heard: Heard, rows: Sequence[Slip]) -> str:
    note = rows[0].note
    assert note is not None
    name = key_name(note.pitch, heard.piece.bars[note.bar].fifths)
    if group.habit:
        return (
            f"In {bar} ring {name} with a pencil; stop before it, say its name, play it, go on. "
            "Only when it is right three times in a row, without the stop."
        )
    if _furthest(heard, rows) >= WIDE:
        return f"Find {name} in {bar} in silence from the note before it, three times, then play the bar slowly."
    return f"Play {bar} slowly three times in a row; where it stays right it was a slip, and nothing more is to be done."


def _kinds(heard: Heard, rows: Sequence[Slip]) -> tuple[str, ...]:
    altered = any(
        s.note and spelled_like(heard, s.note, _key(heard, s)).step == s.note.pitch.step
        for s in rows
    )
    if altered:
        return ("accidentals", "reading")
    return ("leap", "reading") if _furthest(heard, rows) >= WIDE else ("reading", "passagework")


KIND = FindingKind("wrong-notes", "wrong notes", find)
