"""Collects what acts on the tempo of a piece, place by place: metronome marks, words, playback data."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from passagework.analysis.marks import Mark
from passagework.score.piece import Metronome, Piece, Position


@dataclass(slots=True)
class TempoPlace:
    """All that stands at one position."""

    onset: Position
    bar: int
    marked: Metronome | None = None
    played: Metronome | None = None
    """The file's own playback tempo."""
    words: list[Mark] = field(default_factory=list)

    @property
    def text(self) -> str:
        """The words, joined."""
        return " ".join(m.text for m in self.words)


@dataclass(frozen=True, slots=True)
class Hold:
    """A fermata: the notes from `onset` to `end` are held longer."""

    onset: Position
    end: Position
    id: str


def tempo_places(piece: Piece, marks: Sequence[Mark]) -> list[TempoPlace]:
    """Places with a tempo mark, a tempo word or a playback tempo, in order."""
    rows: dict[Position, TempoPlace] = {}

    def at(onset: Position, bar: int) -> TempoPlace:
        if onset not in rows:
            rows[onset] = TempoPlace(onset, bar)
        return rows[onset]

    for metronome in piece.metronomes:
        place = at(metronome.onset, metronome.bar)
        if metronome.printed:
            place.marked = metronome
        else:
            place.played = metronome
    for mark in marks:
        if mark.phrase.of("tempo") or (mark.onset == 0 and mark.phrase.of("character")):
            at(mark.onset, mark.bar).words.append(mark)
    return [rows[onset] for onset in sorted(rows)]


def holds(piece: Piece) -> list[Hold]:
    """The fermatas on notes, one for each place; it lasts as long as the shortest of its notes there."""
    rows: dict[Position, list[tuple[Position, str]]] = defaultdict(list)
    for note in piece.notes:
        if "fermata" in note.articulations and note.duration > 0:
            rows[note.onset].append((note.end, note.id))
    found: list[Hold] = []
    for onset in sorted(rows):
        end, ident = min(rows[onset])
        if found and found[-1].end > onset:
            continue
        found.append(Hold(onset, end, ident))
    return found
