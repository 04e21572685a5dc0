"""Ornament signs and tremolos as a player plays them out: quick, nearly even, on the beat.

Conventions as modern editions explain the signs: trills and short trills begin on the written note, a mordent (with the
stroke) goes below, a turn goes above, main, below, main; a delayed turn comes at the end of its note.
"""

from __future__ import annotations

from fractions import Fraction

from passagework.listening.simulate.strike import SHORTEST_S, Strike
from passagework.score.piece import Note, Ornament
from passagework.spots.context import Context
from passagework.spots.ornament_notes import auxiliary

TRILL_RATE = 10.0
"""Notes a second of a trill; skilled pianists reach 12 to 14 (Moore, 1992)."""
TREMOLO_RATE = 12.0
"""Most notes a second of a tremolo."""
QUICK_S = 0.085
"""Seconds of one quick note of an ornament: an assumption, lively and still clear."""
QUICK_SHARE = 0.6
"""Largest share of its note that the quick notes of an ornament take."""
SOFTER = 6.0
"""Velocity steps by which the added notes are softer than the main one."""

TRILLS = frozenset({"trill-mark", "shake", "wavy-line"})
SHORT = {"mordent", "inverted-mordent", "schleifer"}


def sign_of(note: Note) -> Ornament | None:
    """The first sign of `note` that adds notes."""
    return next(
        (
            o
            for o in note.ornaments
            if o.role != "stop" and (o.kind in TRILLS or o.kind in SHORT or "turn" in o.kind)
        ),
        None,
    )


def play_sign(context: Context, strike: Strike, sign: Ornament) -> list[Strike]:
    """`strike` with the strokes that `sign` adds; `strike` alone where there is no time for them."""
    lasting = strike.end - strike.onset
    if lasting < 3 * SHORTEST_S:
        return [strike]
    pitches, late = _pitches(context, strike, sign, lasting)
    quick = min(QUICK_S, QUICK_SHARE * lasting / max(len(pitches) - 1, 1))
    if sign.kind in TRILLS:
        quick = lasting / len(pitches)
    start = strike.onset
    if late:
        start = strike.end - quick * len(pitches)
    rows = [
        _one(strike, start + k * quick, start + (k + 1) * quick, pitch)
        for k, pitch in enumerate(pitches)
    ]
    if not late:
        rows[-1].end = max(strike.end, rows[-1].onset + SHORTEST_S)
    else:
        rows.insert(0, _one(strike, strike.onset, start, strike.pitch))
    first = next((r for r in rows if r.pitch == strike.pitch), rows[0])
    for row in rows:
        row.main = row is first
        row.shape -= 0.0 if row.pitch == strike.pitch else SOFTER
    return rows


def _pitches(
    context: Context, strike: Strike, sign: Ornament, lasting: float
) -> tuple[list[int], bool]:
    """Keys in order, and whether they come at the end of the note."""
    note, main, marks = strike.note, strike.pitch, sign.accidentals
    upper = auxiliary(
        context, note, 1, () if "turn" in sign.kind and len(marks) < 2 else marks
    ).midi
    if sign.kind in TRILLS:
        count = max(3, round(lasting * TRILL_RATE)) | 1  # odd: it ends on its main note
        return [upper if k % 2 else main for k in range(count)], False
    lower = auxiliary(context, note, -1, marks[-1:]).midi
    if sign.kind == "mordent":
        return [main, lower, main], False
    if sign.kind == "inverted-mordent":
        return [main, upper, main], False
    if sign.kind == "schleifer":
        return [
            auxiliary(context, note, -2, ()).midi,
            auxiliary(context, note, -1, ()).midi,
            main,
        ], False
    turn = [lower, main, upper, main] if "inverted" in sign.kind else [upper, main, lower, main]
    return turn, sign.kind.startswith("delayed")


def tremolo_of(note: Note) -> Ornament | None:
    """The tremolo sign of `note`."""
    return next((o for o in note.ornaments if o.kind == "tremolo" and o.strokes), None)


def play_tremolo(strike: Strike, sign: Ornament, whole: float) -> list[Strike]:
    """The strokes of a note with a tremolo; `whole` is the time (seconds) of both notes where it alternates
    between two, of the one note where it does not.
    """
    start = strike.onset if sign.role != "stop" else strike.end - whole
    count = _count(strike.note, sign, whole)
    paired = sign.role in {"start", "stop"}
    if paired:
        count += count % 2
    each = whole / count
    mine = range(int(sign.role == "stop"), count, 2) if paired else range(count)
    rows = [_one(strike, start + k * each, start + (k + 1) * each, strike.pitch) for k in mine]
    for row in rows[1:]:
        row.main = False
    return rows


def _count(note: Note, sign: Ornament, whole: float) -> int:
    printed = note.value or note.duration or Fraction(1)
    flags = 0
    while printed < Fraction(1, 2**flags) and flags < 6:
        flags += 1
    each = Fraction(1, 2 ** (flags + sign.strokes))
    lasting = note.duration if sign.role not in {"start", "stop"} else 2 * note.duration
    return max(min(round(lasting / each), int(whole * TREMOLO_RATE)), 2)


def _one(strike: Strike, onset: float, end: float, pitch: int) -> Strike:
    return Strike(
        strike.note, strike.at, onset, end, pitch, marked=strike.marked, lift=strike.lift, shape=strike.shape
    )  # fmt: skip
