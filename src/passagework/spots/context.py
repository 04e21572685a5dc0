"""What every detector may ask about a piece, computed once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from passagework.analysis.tempo import TempoMap, tempo_map
from passagework.hands.hand import Hand
from passagework.score.piece import Bar, Note, Piece, Position, Side
from passagework.spots.level import Level, estimate_level


@dataclass(frozen=True)
class Attack:
    """What one hand strikes at one position (grace notes apart), lowest note first."""

    onset: Position
    side: Side
    notes: tuple[Note, ...]

    @property
    def low(self) -> Note:
        """Its lowest note."""
        return self.notes[0]

    @property
    def high(self) -> Note:
        """Its highest note."""
        return self.notes[-1]

    @property
    def bar(self) -> int:
        """Index of its bar."""
        return self.notes[0].bar

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of its notes."""
        return tuple(n.id for n in self.notes)


@dataclass(frozen=True)
class Context:
    """A piece with the student's hand; derived facts are cached properties."""

    piece: Piece
    hand: Hand = field(default_factory=Hand)

    @cached_property
    def tempo(self) -> TempoMap:
        """Tempo along the piece."""
        return tempo_map(self.piece)

    def seconds(self, position: Position) -> float:
        """Seconds from the start to `position`, repeats not unfolded."""
        cache = self._seconds
        value = cache.get(position)
        if value is None:
            value = cache[position] = self.tempo.seconds(position)
        return value

    @cached_property
    def _seconds(self) -> dict[Fraction, float]:
        return {}

    @cached_property
    def level(self) -> Level:
        """The level the piece is for."""
        return estimate_level(self)

    @cached_property
    def attacks(self) -> dict[Side, tuple[Attack, ...]]:
        """For each hand its attacks in order."""
        result: dict[Side, tuple[Attack, ...]] = {}
        sides: tuple[Side, Side] = ("left", "right")
        for side in sides:
            rows: dict[Fraction, list[Note]] = defaultdict(list)
            for note in self.piece.of_hand(side):
                if not note.grace:
                    rows[note.onset].append(note)
            result[side] = tuple(
                Attack(onset, side, tuple(sorted(notes, key=lambda n: n.midi)))
                for onset, notes in sorted(rows.items())
            )
        return result

    @cached_property
    def chord_pitches(self) -> tuple[tuple[int, ...], ...]:
        """MIDI numbers of every attack of either hand that strikes more than one key."""
        return tuple(
            tuple(n.midi for n in attack.notes)
            for attacks in self.attacks.values()
            for attack in attacks
            if len({n.midi for n in attack.notes}) > 1
        )

    def bar(self, index: int) -> Bar:
        """The bar of that index."""
        return self.piece.bars[index]

    def bar_names(self, indices: Sequence[int]) -> str:
        """Bars in words: ``"bar 12"``, ``"bars 12 to 16"``, ``"bars 3, 7 and 12 to 14"``."""
        return bar_names(self.piece, indices)


def bar_names(piece: Piece, indices: Sequence[int]) -> str:
    """Bars of `piece` in words, runs gathered."""
    runs: list[list[int]] = []
    for index in sorted(set(indices)):
        if runs and index == runs[-1][1] + 1:
            runs[-1][1] = index
        else:
            runs.append([index, index])
    parts: list[str] = []
    for low, high in runs:
        first, last = piece.bars[low].label, piece.bars[high].label
        if low == high:
            parts.append(first)
        elif high == low + 1:
            parts += [first, last]
        else:
            parts.append(f"{first} to {last}")
    word = "bar" if len(parts) == 1 and " to " not in parts[0] else "bars"
    text = parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
    return f"{word} {text}"
