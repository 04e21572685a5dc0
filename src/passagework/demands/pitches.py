"""What notes there are, how they follow each other, and what the eye must read.

Every number is 0 or more and never falls when notes are added or more of them are altered.
"""

from __future__ import annotations

from math import sqrt

from passagework.demands.grid import Grid
from passagework.score.piece import Note
from passagework.spots.reading import Clefs, ledger_lines
from passagework.spots.signature import Signatures, signature_alter

HEIGHTS = 256
"""More than there are staff steps, so that two of them make one number."""

MOST_FOLLOWING = 6
"""Attacks after one that are looked at for what follows it: a beat in semiquavers and the next beat's first."""


def places(grid: Grid, hand: int) -> int:
    """Different staff places that one hand plays (pitch-set variety; Ramoneda and others, 2024)."""
    return len({step for strike in grid.hands[hand] for step in strike.steps})


def compass(grid: Grid) -> int:
    """Staff steps from the lowest to the highest note (range; Sebastien and others, 2012)."""
    steps = [s for strike in grid.strikes for s in (strike.steps[0], strike.steps[-1])]
    return max(steps) - min(steps) if steps else 0


def successions(grid: Grid, hand: int) -> int:
    """Different pairs of a place and one that follows it within a beat: how much of the hand's way is new.

    Stands for the variety of pitch sets and the complexity of their order, which Ramoneda and others (2024) measure by
    entropy and by Lempel-Ziv complexity; unlike these it never rises when notes are left out.
    """
    row = grid.hands[hand]
    found: set[int] = set()
    beats = [float(b) for b in grid.beat_ticks]
    for at, strike in enumerate(row):
        until = strike.tick + beats[strike.bar]
        following: set[int] = set()
        for other in row[at + 1 : at + 1 + MOST_FOLLOWING]:
            if other.tick > until:
                break
            following.update(other.steps)
        for step in strike.steps:
            found.update([step * HEIGHTS + other_step for other_step in following])
    return len(found)


def sonorities(grid: Grid) -> int:
    """Different pairs of places struck at one moment, by one hand or by both (variety of chords)."""
    rows: dict[int, set[int]] = {}
    for strike in grid.strikes:
        rows.setdefault(strike.tick, set()).update(strike.steps)
    found: set[int] = set()
    for steps in rows.values():
        ordered = sorted(steps)
        for i, low in enumerate(ordered):
            found.update([low * HEIGHTS + high for high in ordered[i + 1 :]])
    return len(found)


def altered_notes(grid: Grid) -> list[list[Note]]:
    """For every bar the notes that are altered against the signature, in order."""
    signatures = Signatures(grid.context.piece)
    usual: dict[tuple[str, int], int] = {}
    rows: list[list[Note]] = [[] for _ in range(grid.bars)]
    for strike in grid.strikes:
        fifths = signatures.at(strike.attack.onset)
        for note in strike.attack.notes:
            key = note.pitch.step, fifths
            if key not in usual:
                usual[key] = signature_alter(*key)
            if note.pitch.alter != usual[key]:
                rows[strike.bar].append(note)
    return rows


def altered(grid: Grid) -> list[float]:
    """Notes of the bar that are altered against the signature, each place of a staff once (Chiu and Chen, 2012, "tonality")."""
    rows = grid.once(altered_notes)
    return [float(len({(n.staff, n.pitch.diatonic) for n in row})) for row in rows]


def signature(grid: Grid) -> int:
    """Sharps or flats of the largest key signature."""
    return max((abs(bar.fifths) for bar in grid.context.piece.bars), default=0)


def reading(grid: Grid) -> list[float]:
    """Ledger lines of the bar's different places, as a square root of each, and 2 for a change of clef."""
    clefs = Clefs(grid.context.piece.clefs)
    loads = [0.0] * grid.bars
    seen: set[tuple[int, int, int]] = set()
    for strike in grid.strikes:
        for note in strike.attack.notes:
            key = strike.bar, note.staff, note.pitch.diatonic - 7 * note.written_octave_shift
            if key in seen:
                continue
            seen.add(key)
            clef = clefs.at(note.staff, note.onset)
            if clef is not None:
                loads[strike.bar] += sqrt(abs(ledger_lines(note, clef)))
    for _, after in clefs.changes():
        if after.bar < grid.bars:
            loads[after.bar] += 2.0
    return loads


def small_notes(grid: Grid) -> list[float]:
    """Ornaments and grace notes of the bar."""
    counts = [0.0] * grid.bars
    for note in grid.context.piece.notes:
        if note.printed and (note.grace or note.ornaments):
            counts[note.bar] += 1
    return counts


def notes(grid: Grid) -> int:
    """Notes of the piece, tied ones once."""
    return sum(len(strike.attack.notes) for strike in grid.strikes)
