"""Fingerprints of bars: what makes two bars the same, the same at another pitch, or nearly the same.

A bar is a set of points (ticks from the bar line, staff step). Grace notes are left out: a return with
one ornament more is still the same bar to be learnt. Voices and the division between the staves are
not read, except that each hand has a fingerprint of its own for finding candidates.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field

from passagework.score.piece import Note, Piece

STEPS = 256
"""More than there are staff steps: a point is coded as ticks * STEPS + step."""


@dataclass(frozen=True, slots=True)
class BarPrint:
    """One bar, as its notes compare."""

    notes: tuple[Note, ...]
    """Its notes without grace notes, in order."""
    struck: dict[int, list[Note]] = field(compare=False)
    """The same by ticks from the bar line, in order of time."""
    exact: Hashable
    """Equal for two bars with the same pitches, onsets and durations."""
    keys: Hashable
    """Equal for two bars in which the same keys are struck at the same times, however long."""
    points: frozenset[int]
    """Codes of (ticks from the bar line, staff step)."""
    shapes: tuple[tuple[Hashable, int], ...]
    """For the whole bar and each hand that plays: a fingerprint that transposition does not change, and
    the staff step it is counted from."""

    @property
    def silent(self) -> bool:
        """Whether nothing begins in the bar."""
        return not self.points


def print_bars(piece: Piece) -> tuple[BarPrint, ...]:
    """Fingerprints of every bar."""
    return tuple(
        _print_bar(
            piece, bar.onset.numerator * piece.ticks_per_quarter // bar.onset.denominator, notes
        )
        for bar, notes in zip(piece.bars, piece.notes_of_bar, strict=True)
    )


def _print_bar(piece: Piece, start: int, notes: tuple[Note, ...]) -> BarPrint:
    per_quarter = piece.ticks_per_quarter
    plain = tuple(n for n in notes if not n.grace and n.duration)
    rows: list[tuple[int, int, int, int, str]] = []
    struck: dict[int, list[Note]] = {}
    for note in plain:
        onset, length = note.onset, note.duration
        time = onset.numerator * (per_quarter // onset.denominator) - start
        struck.setdefault(time, []).append(note)
        rows.append(
            (
                time,
                note.pitch.diatonic,
                note.pitch.midi,
                length.numerator * (per_quarter // length.denominator),
                note.hand,
            )
        )
    shapes: list[tuple[Hashable, int]] = []
    for side in ("both", "right", "left"):
        own = [(t, step) for t, step, _, _, hand in rows if side in ("both", hand)]
        if len(own) >= 2:
            base = min(step for _, step in own)
            shapes.append(((side, frozenset((t, step - base) for t, step in own)), base))
    return BarPrint(
        plain,
        struck,
        frozenset((t, midi, length) for t, _, midi, length, _ in rows),
        frozenset((t, midi) for t, _, midi, _, _ in rows),
        frozenset(t * STEPS + step for t, step, _, _, _ in rows),
        tuple(shapes),
    )


def likeness(a: BarPrint, b: BarPrint, shift: int = 0) -> float:
    """Share of the points of both that they have in common when `a` is moved by `shift` staff steps.

    1 for two silent bars, 0 for a silent and a sounding one.
    """
    if a.silent or b.silent:
        return 1.0 if a.silent and b.silent else 0.0
    moved = {p + shift for p in a.points} if shift else a.points
    common = len(b.points.intersection(moved))
    return common / (len(a.points) + len(b.points) - common)
