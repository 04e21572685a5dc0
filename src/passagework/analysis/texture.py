"""How each hand is written in each bar: chords, figures, lines or nothing, with the numbers that decided.

Definitions (usual textbook terms; the thresholds are this module's):

rest        the hand strikes nothing in the bar (it may hold)
unison      both hands strike the same pitch classes at the same moments
polyphonic  notes are held while others of the same hand move
block       chords that stand or are repeated: at most two different chords in the bar
chordal     chords that move, a tune or a harmony in each of them
Alberti     single notes low, high, middle, high of one chord, again and again
arpeggio    single notes that go through a chord in one direction, three or more in a row
broken      a chord taken apart in another way: single notes by leaps, or bass note and chords by turns
single line anything else of single notes

Voice numbers are not read. Nothing depends on the register or on absolute note values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from passagework.score.piece import Piece, Side

Texture = Literal[
    "rest",
    "unison",
    "polyphonic",
    "block",
    "chordal",
    "Alberti",
    "arpeggio",
    "broken",
    "single line",
]

MOSTLY = 0.5
"""Share of the attacks that must be chords for chords to name the texture."""

HELD_SHARE = 0.3
"""Share of the attacks under which something else of the hand is still held, for polyphony."""

LEAP = 3
"""Semitones from which a melodic interval is a step of a chord rather than of a scale."""

LEAP_SHARE = 0.6
"""Share of leaps from which a line is a chord taken apart."""

RUN = 3
"""Notes in one direction by leaps that make an arpeggio."""

ARPEGGIO_SHARE = 0.5
"""Share of the single notes that lie in such runs."""

ALBERTI_SHARE = 0.5
"""Share of the groups of four single notes that go low, high, middle, high."""

UNISON_SHARE = 0.8
"""Share of the attacks of both hands that fall together on the same pitch classes."""

FEW_FOR_UNISON = 3
"""Attacks in the bar that each hand needs before a unison is spoken of."""

FEW_FOR_FIGURE = 3
"""Attacks below which a bar of single notes is a line, whatever its intervals."""


_Struck = tuple[int, int, int]
"""A note as (onset, end, MIDI number), in ticks."""

_HANDS: tuple[Side, Side] = ("right", "left")


@dataclass(frozen=True, slots=True)
class BarTexture:
    """One hand in one bar."""

    bar: int
    hand: Side
    texture: Texture
    attacks: int
    """Moments at which the hand strikes."""
    chords: float
    """Share of them with two notes or more."""
    held: float
    """Share of them under which another note of the hand is held on."""
    leaps: float
    """Share of leaps of three semitones or more among the intervals of its single notes."""
    alberti: float
    """Share of the groups of four that go low, high, middle, high."""
    arpeggio: float
    """Share of the notes in runs of leaps in one direction."""
    different: int
    """Different chords (sets of pitches struck together) or single pitches."""
    together: float
    """Share of the attacks that both hands make together on the same pitch classes."""


def find_texture(piece: Piece) -> tuple[BarTexture, ...]:
    """For every bar the right hand's texture, then the left hand's. Linear in the notes."""
    per_quarter = piece.ticks_per_quarter
    result: list[BarTexture] = []
    held: dict[Side, list[_Struck]] = {"right": [], "left": []}
    for bar, notes in zip(piece.bars, piece.notes_of_bar, strict=True):
        struck: dict[Side, list[list[_Struck]]] = {"right": [], "left": []}
        for note in notes:
            if note.grace or not note.duration:
                continue
            onset, length = note.onset, note.duration
            begin = onset.numerator * (per_quarter // onset.denominator)
            end = begin + length.numerator * (per_quarter // length.denominator)
            attacks = struck[note.hand]
            if attacks and attacks[-1][0][0] == begin:
                attacks[-1].append((begin, end, note.pitch.midi))
            else:
                attacks.append([(begin, end, note.pitch.midi)])
        together = _together(struck["right"], struck["left"])
        start, stop = piece.ticks(bar.onset), piece.ticks(bar.end)
        for side in _HANDS:
            lasting = [n for n in held[side] if n[1] > start]
            result.append(_texture(bar.index, side, struck[side], lasting, together))
            lasting += (n for attack in struck[side] for n in attack)
            held[side] = [n for n in lasting if n[1] > stop]
    return tuple(result)


def _texture(
    bar: int, side: Side, attacks: list[list[_Struck]], lasting: list[_Struck], together: float
) -> BarTexture:
    count = len(attacks)
    if not count:
        return BarTexture(bar, side, "rest", 0, 0.0, 0.0, 0.0, 0.0, 0.0, 0, 0.0)
    chords = sum(len({n[2] for n in a}) > 1 for a in attacks) / count
    held = _held_share(attacks, lasting)
    tops = [a[-1][2] for a in attacks]
    lows = [a[0][2] for a in attacks]
    different = len({tuple(n[2] for n in a) for a in attacks})
    leaps = _share_of_leaps(tops)
    alberti = _alberti_share(tops)
    arpeggio = _arpeggio_share(tops)
    texture: Texture
    if together >= UNISON_SHARE and count >= FEW_FOR_UNISON:
        texture = "unison"
    elif held >= HELD_SHARE:
        texture = "polyphonic"
    elif chords >= MOSTLY:
        texture = _chord_texture(attacks, lows, different)
    elif count < FEW_FOR_FIGURE:
        texture = "single line"
    elif alberti >= ALBERTI_SHARE:
        texture = "Alberti"
    elif arpeggio >= ARPEGGIO_SHARE:
        texture = "arpeggio"
    elif leaps >= LEAP_SHARE:
        texture = "broken"
    else:
        texture = "single line"
    return BarTexture(
        bar, side, texture, count, round(chords, 3), round(held, 3), round(leaps, 3),
        round(alberti, 3), round(arpeggio, 3), different, round(together, 3),
    )  # fmt: skip


def _chord_texture(attacks: list[list[_Struck]], lows: list[int], different: int) -> Texture:
    """Bass note and chords by turns are a broken chord; chords that stand are block chords."""
    single = [len(a) == 1 for a in attacks]
    if any(single) and single[0] and not all(single):
        bass = [low for low, alone in zip(lows, single, strict=True) if alone]
        above = [low for low, alone in zip(lows, single, strict=True) if not alone]
        if max(bass) <= min(above):
            return "broken"
    return "block" if different <= 2 else "chordal"


def _held_share(attacks: list[list[_Struck]], lasting: list[_Struck]) -> float:
    """Share of the attacks during which a note struck earlier is held for at least as long as they."""
    held = list(lasting)
    count = 0
    for attack in attacks:
        onset = attack[0][0]
        shortest = min(n[1] for n in attack) - onset
        held = [n for n in held if n[1] > onset]
        pitches = {n[2] for n in attack}
        if any(n[1] - onset >= shortest and n[2] not in pitches for n in held):
            count += 1
        held += attack
    return count / len(attacks)


def _share_of_leaps(line: Sequence[int]) -> float:
    moves = [abs(b - a) for a, b in pairwise(line) if a != b]
    return sum(m >= LEAP for m in moves) / len(moves) if moves else 0.0


def _alberti_share(line: Sequence[int]) -> float:
    """Share of the successive groups of four notes that go low, high, middle, high."""
    groups = [line[k : k + 4] for k in range(0, len(line) - 3, 4)]
    if not groups:
        return 0.0
    return sum(a < c < b and b == d for a, b, c, d in groups) / len(groups)


def _arpeggio_share(line: Sequence[int]) -> float:
    """Share of the notes in runs of at least `RUN` notes by leaps in one direction."""
    inside = 0
    start = 0
    for k in range(1, len(line) + 1):
        runs_on = k < len(line) and abs(line[k] - line[k - 1]) >= LEAP
        if runs_on and k - start >= 2:
            runs_on = (line[k] > line[k - 1]) == (line[k - 1] > line[k - 2])
        if not runs_on:
            if k - start >= RUN:
                inside += k - start
            # The turning note belongs to the run before and may begin the next.
            turns = k < len(line) and abs(line[k] - line[k - 1]) >= LEAP
            start = k - 1 if turns else k
    return min(1.0, inside / len(line)) if line else 0.0


def _together(right: list[list[_Struck]], left: list[list[_Struck]]) -> float:
    """Share of the attacks of either hand that the other makes too, on the same pitch classes."""
    if not right or not left:
        return 0.0
    own = {a[0][0]: {n[2] % 12 for n in a} for a in right}
    same = sum(own.get(a[0][0]) == {n[2] % 12 for n in a} for a in left)
    return same / max(len(right), len(left))
