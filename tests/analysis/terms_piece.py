"""A small piece with marks at given bars and beats, for the tests of words, tempo and loudness."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from passagework.score.piece import (
    Bar,
    Dynamic,
    Hairpin,
    Metronome,
    Note,
    Piece,
    Pitch,
    TimeSignature,
    Words,
)

At = tuple[int, float]
"""Bar (the first is 1) and crotchets into it."""


def piece(
    bars: int = 16,
    time: tuple[int, int] = (4, 4),
    *,
    words: Sequence[tuple[int, float, str] | tuple[int, float, str, int]] = (),
    signs: Sequence[tuple[int, float, str] | tuple[int, float, str, int]] = (),
    hairpins: Sequence[tuple[At, At, str] | tuple[At, At, str, int]] = (),
    metronomes: Sequence[tuple[int, float, float] | tuple[int, float, float, bool]] = (),
    value: Fraction = Fraction(1, 2),
    fermata: At | None = None,
    title: str = "",
) -> Piece:
    """`bars` bars of one note after another, `value` crotchets each, in both hands."""
    signature = TimeSignature((time[0],), time[1])
    length = signature.length
    rows = tuple(Bar(i, str(i + 1), i * length, length, signature, 0) for i in range(bars))

    def at(bar: int, beat: float) -> Fraction:
        return (bar - 1) * length + Fraction(beat)

    notes = []
    for side, staff, octave in (("left", 2, 3), ("right", 1, 5)):
        for k in range(int(bars * length / value)):
            onset = k * value
            held = fermata is not None and onset == at(*fermata)
            notes.append(
                Note(
                    f"{side}{k}", int(onset / length), onset, value, Pitch("C", 0, octave), staff, "1", side,  # type: ignore[arg-type]
                    articulations=frozenset({"fermata"} if held else ()), value=value,
                )
            )  # fmt: skip
    notes.sort(key=lambda n: (n.onset, n.midi))
    return Piece(
        title, "", rows, tuple(notes),
        words=tuple(
            Words(f"w{k}", at(w[0], w[1]), w[0] - 1, w[3] if len(w) > 3 else 1, w[2])
            for k, w in enumerate(words)
        ),
        dynamics=tuple(
            Dynamic(f"d{k}", at(d[0], d[1]), d[0] - 1, d[3] if len(d) > 3 else 1, d[2])
            for k, d in enumerate(signs)
        ),
        hairpins=tuple(
            Hairpin(f"h{k}", at(*h[0]), at(*h[1]), h[0][0] - 1, h[3] if len(h) > 3 else 1, h[2])  # type: ignore[arg-type]
            for k, h in enumerate(hairpins)
        ),
        metronomes=tuple(
            Metronome(f"m{k}", at(m[0], m[1]), m[0] - 1, Fraction(1), m[2], m[3] if len(m) > 3 else True)
            for k, m in enumerate(metronomes)
        ),
    )  # fmt: skip
