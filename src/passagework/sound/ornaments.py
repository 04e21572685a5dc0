"""Ornament signs and tremolos in notes: which keys, when.

Conventions, as modern editions explain the signs: every ornament begins on the beat and on the written note (a trill
from the upper note where asked for); a mordent is the sign with the stroke (lower neighbour), an inverted mordent the
one without (a short trill to the upper one); a delayed turn follows its note. How many notes a trill has is settled at
the piece's own speed and kept when it is practised slower, so that slow practice rehearses the same notes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from passagework.score.piece import Note, Ornament, Piece
from passagework.sound.neighbours import neighbour
from passagework.sound.stroke import SHORTEST_S, Stroke

TRILL_RATE = 9.0
"""Notes a second of a trill at the piece's own speed: an assumption, lively and still to be followed by ear. Skilled
pianists are faster (Moore, 1992)."""
TREMOLO_RATE = 12.0
"""Most notes a second of a tremolo; one with more strokes is unmeasured."""
QUICK_S = 0.085
"""Seconds of a quick ornament note at the piece's own speed."""
QUICKEST, SLOWEST = 0.7, 2.5
"""Bounds of the factor by which ornaments follow a faster or slower tempo."""
MORDENT_SHARE, TURN_SHARE, LATE_SHARE = 0.5, 0.75, 2 / 3
"""Largest share of a note that the quick notes of a mordent, a turn (its first three) and a late turn take."""

TRILLS = frozenset({"trill-mark", "shake", "wavy-line"})
SIGNS = TRILLS | {
    "mordent", "inverted-mordent", "turn", "inverted-turn", "vertical-turn", "haydn", "delayed-turn",
    "delayed-inverted-turn", "inverted-vertical-turn", "schleifer",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Manner:
    """How ornaments are played."""

    upper_trills: bool = False
    """Trills begin on the upper note, as in music up to about 1800."""


def sign_of(note: Note) -> Ornament | None:
    """The first sign of `note` that is played out as notes beside its own."""
    return next((o for o in note.ornaments if o.kind in SIGNS and o.role != "stop"), None)


def pace_factor(lasting: float, own: float) -> float:
    """How much slower (above 1) than at the piece's own speed ornaments are played here."""
    return max(QUICKEST, min(SLOWEST, lasting / own)) if own > 0 else 1.0


def play_sign(
    piece: Piece, stroke: Stroke, sign: Ornament, end: float, own: float, manner: Manner
) -> list[Stroke]:
    """The strokes of `stroke`'s note with its `sign`.

    `end` is where its time ends (seconds), `own` how long it is at the piece's own speed. The last stroke keeps the
    release of `stroke`.
    """
    note, lasting = stroke.note, end - stroke.start
    if lasting < 2 * SHORTEST_S:
        return [stroke]
    marks = sign.accidentals
    upper = neighbour(piece, note, 1, marks[0] if marks and sign.kind != "mordent" else "")
    lower = neighbour(piece, note, -1, marks[-1] if marks and _lower_marked(sign) else "")
    main = stroke.pitch
    if len(marks) == 1 and "turn" in sign.kind:
        upper = neighbour(piece, note, 1)
    quick = QUICK_S * pace_factor(lasting, own)
    if sign.kind in TRILLS:
        count = trill_count(own, even=manner.upper_trills)
        pair = (upper, main) if manner.upper_trills else (main, upper)
        return _even(stroke, [pair[k % 2] for k in range(count)], stroke.start, end)
    if sign.kind == "inverted-mordent":
        return _quick(stroke, [main, upper, main], min(quick, MORDENT_SHARE * lasting / 2))
    if sign.kind == "mordent":
        return _quick(stroke, [main, lower, main], min(quick, MORDENT_SHARE * lasting / 2))
    if sign.kind == "schleifer":
        below = [neighbour(piece, note, -2), neighbour(piece, note, -1)]
        return _quick(stroke, [*below, main], min(quick, MORDENT_SHARE * lasting / 2))
    around = [lower, main, upper, main] if "inverted" in sign.kind else [upper, main, lower, main]
    if sign.kind.startswith("delayed"):
        each = min(quick, LATE_SHARE * lasting / 4)
        held = Stroke(note, stroke.start, end - 4 * each, main)
        return [held, *_even(stroke, around, end - 4 * each, end)]
    return _quick(stroke, around, min(quick, TURN_SHARE * lasting / 3))


def _lower_marked(sign: Ornament) -> bool:
    return sign.kind == "mordent" or "turn" in sign.kind


def trill_count(own: float, *, even: bool) -> int:
    """Notes of a trill that lasts `own` seconds at the piece's own speed; it ends on its main note."""
    count = max(3, round(own * TRILL_RATE))
    return count + 1 if (count % 2 == 0) != even else count


def _even(stroke: Stroke, pitches: list[int], start: float, end: float) -> list[Stroke]:
    """Strokes of equal length from `start` to `end`, each held to the next."""
    each = (end - start) / len(pitches)
    rows = [
        Stroke(stroke.note, start + k * each, start + (k + 1) * each, pitch, pitch != stroke.pitch)
        for k, pitch in enumerate(pitches)
    ]
    rows[-1].end = max(rows[-1].start + min(each, SHORTEST_S), min(stroke.end, end))
    return rows


def _quick(stroke: Stroke, pitches: list[int], each: float) -> list[Stroke]:
    """Strokes of `each` seconds, the last one held."""
    start = stroke.start
    rows = [
        Stroke(stroke.note, start + k * each, start + (k + 1) * each, pitch, pitch != stroke.pitch)
        for k, pitch in enumerate(pitches)
    ]
    rows[-1].end = max(stroke.end, rows[-1].start + SHORTEST_S)
    return rows


def stroke_value(note: Note, strokes: int) -> Fraction:
    """Quarters of each note of a tremolo with that many strokes: flags of the printed value count too."""
    printed = note.value or note.duration
    flags = 0
    while printed < Fraction(1, 2**flags) and flags < 6:
        flags += 1
    return Fraction(1, 2 ** (flags + strokes))


def tremolo_count(lasting: Fraction, own: float, each: Fraction) -> int:
    """Notes of a tremolo of `lasting` quarters (`own` seconds at the piece's own speed), `each` quarters long."""
    written = max(1, round(lasting / each))
    fastest = max(1, int(own * TREMOLO_RATE + 1e-9))
    return min(written, max(fastest, 2))


def play_tremolo(first: list[Stroke], second: list[Stroke], count: int, end: float) -> list[Stroke]:
    """`count` equal strokes up to `end`, of `first` alone or of `first` and `second` in turn."""
    start = first[0].start
    each = (end - start) / count
    rows = []
    for k in range(count):
        group = second if second and k % 2 else first
        onset = start + k * each
        rows += [Stroke(s.note, onset, onset + each, s.pitch) for s in group]
    return rows
