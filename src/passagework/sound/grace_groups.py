"""Grace notes as the groups they are played in, with the notes around them."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from passagework.score.piece import Note, Piece, Position

Line = tuple[int, str]
"""A staff and a voice in it."""
Lines = dict[Line, dict[Position, list[Note]]]


@dataclass(frozen=True, slots=True)
class GraceGroup:
    """Grace notes of one voice that stand at one place."""

    strikes: tuple[tuple[Note, ...], ...]
    """Its notes in order, those of one chord together."""
    here: tuple[Note, ...]
    """The notes that it leans on; none at the end of a bar."""
    before: tuple[Note, ...]
    """The notes of the voice struck last before it."""

    @property
    def onset(self) -> Position:
        """Where the group stands."""
        return self.strikes[0][0].onset

    @property
    def leaning(self) -> bool:
        """Whether it is an appoggiatura, played on the beat."""
        first = self.strikes[0][0]
        plain = first.grace == "plain" and first.value > 0
        return len(self.strikes) == 1 and plain and bool(self.here)

    @property
    def principal(self) -> Note | None:
        """The note of a chord that it leans on: the nearest one."""
        if not self.here:
            return None
        first = self.strikes[0][0].pitch.diatonic
        return min(self.here, key=lambda n: (abs(n.pitch.diatonic - first), -n.midi))


def grace_groups(piece: Piece) -> list[GraceGroup]:
    """Every group of `piece`, in order."""
    groups: dict[tuple[Line, int, Position], list[Note]] = defaultdict(list)
    lines: Lines = defaultdict(dict)
    for note in piece.notes:
        line = (note.staff, note.voice)
        if note.grace:
            groups[line, note.bar, note.onset].append(note)
        else:
            lines[line].setdefault(note.onset, []).append(note)
    before = _before(groups, lines)
    return [
        GraceGroup(
            _strikes(notes),
            tuple(n for n in lines[line].get(onset, []) if n.bar == bar),
            before[line, onset],
        )
        for (line, bar, onset), notes in groups.items()
    ]


def _before(
    groups: dict[tuple[Line, int, Position], list[Note]], lines: Lines
) -> dict[tuple[Line, Position], tuple[Note, ...]]:
    """For every group the notes struck last before it in its line."""
    found: dict[tuple[Line, Position], tuple[Note, ...]] = {}
    asked: dict[Line, set[Position]] = defaultdict(set)
    for line, _, onset in groups:
        asked[line].add(onset)
    for line, wanted in asked.items():
        attacks = sorted(lines[line])
        at = 0
        for onset in sorted(wanted):
            while at < len(attacks) and attacks[at] < onset:
                at += 1
            found[line, onset] = tuple(lines[line][attacks[at - 1]]) if at else ()
    return found


def _strikes(notes: list[Note]) -> tuple[tuple[Note, ...], ...]:
    rows: dict[int, list[Note]] = {}
    for note in notes:
        rows.setdefault(note.chord, []).append(note)
    return tuple(tuple(row) for row in rows.values())
