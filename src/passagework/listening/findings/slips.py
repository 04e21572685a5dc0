"""Wrong, missing and added notes that count as slips: which stroke was meant for which note, and where they stand.

A note struck early or late is no slip. Where too little of the page was recognised nothing is said.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.listening.alignment import Match
from passagework.listening.findings.lines import Line
from passagework.listening.findings.losses import Losses, out_of_time
from passagework.listening.heard import Heard
from passagework.score.piece import Note, sort_key
from passagework.spots.spot import SpotHand

PAIR_KEYS = 16
"""Semitones, at most, between the two: a clef or a ledger line misread is a sixth or so, an octave misread 12."""
RECOGNISED, IN_PLACE = 0.5, 0.8
"""Share of the notes round a place that must have been recognised for a slip there to be believed, and what another key
struck in a note's place counts for."""


@dataclass(frozen=True, slots=True)
class Slip:
    """One difference between page and take."""

    run: int
    note: Note | None
    """The written note; None for a key that nobody asked for."""
    played: int | None
    """Index of the stroke; None for a note left out."""
    bar: int
    hand: SpotHand
    sure: float
    """Share of the notes round about that were struck, 0 to 1."""

    @property
    def kind(self) -> str:
        """``wrong``, ``missing`` or ``extra``."""
        if self.note is None:
            return "extra"
        return "missing" if self.played is None else "wrong"


def pair_slips(
    heard: Heard, losses: Sequence[Losses], told: frozenset[tuple[int, str]], used: frozenset[int]
) -> tuple[Slip, ...]:
    """The slips of every pass in order of the piece, without notes (pass, id) and strokes that are explained already."""
    found: list[Slip] = []
    for loss in losses:
        gone = [n for n in loss.missing if (loss.run, n.id) not in told]
        strange = [k for k in loss.extras if k not in used]
        missing, extras = out_of_time(heard, loss.line, gone, strange)
        pairs = _pairs(heard, loss.run, loss.line, missing, extras)
        sure = _recognised(heard, loss.line.matches, missing, pairs)
        found += _slips(heard, loss.line, missing, extras, pairs, sure)
    return tuple(found)


def _recognised(
    heard: Heard, row: Sequence[Match], missing: Sequence[Note], pairs: dict[str, int]
) -> dict[int, float]:
    """For each bar how much of it, and of its neighbours, was recognised: a note struck counts whole, another key in its
    place `IN_PLACE`.
    """
    struck: dict[int, float] = defaultdict(float)
    gone: dict[int, float] = defaultdict(float)
    for match in row:
        struck[heard.note(match).bar] += 1.0
    for note in missing:
        share = IN_PLACE if note.id in pairs else 0.0
        struck[note.bar] += share
        gone[note.bar] += 1.0 - share
    found: dict[int, float] = {}
    for bar in {*struck, *gone}:
        near = range(bar - 1, bar + 2)
        hit = sum(struck.get(b, 0.0) for b in near)
        all_ = hit + sum(gone.get(b, 0.0) for b in near)
        found[bar] = hit / all_ if all_ else 0.0
    return found


def _pairs(
    heard: Heard, run: int, line: Line, missing: Sequence[Note], extras: Sequence[int]
) -> dict[str, int]:
    """The stroke that was meant for each missing note, where there is one: the alignment's word first, then what lies
    nearest in time and in keys.
    """
    left = set(extras)
    found: dict[str, int] = {}
    wanted = {n.id for n in missing}
    for swap in heard.alignment.substitutions:
        if swap.run == run and swap.note in wanted and swap.played in left:
            found[swap.note] = swap.played
            left.discard(swap.played)
    rest = sorted(left, key=lambda k: heard.take.notes[k].onset)
    onsets = [heard.take.notes[k].onset for k in rest]
    offers: list[tuple[float, str, int]] = []
    for note in missing:
        if note.id in found or note.grace:
            continue
        place = sort_key(note.onset)
        due, within = line.time(place), line.tolerance(place)
        for at in range(bisect_left(onsets, due - within), bisect_right(onsets, due + within)):
            stroke = heard.take.notes[rest[at]]
            off = abs(stroke.pitch - note.midi)
            if 0 < off <= PAIR_KEYS:
                offers.append(
                    (abs(stroke.onset - due) / within + off / PAIR_KEYS, note.id, rest[at])
                )
    used: set[int] = set()
    for _, ident, index in sorted(offers):
        if ident not in found and index not in used:
            found[ident] = index
            used.add(index)
    return found


def _slips(
    heard: Heard,
    line: Line,
    missing: Sequence[Note],
    extras: Sequence[int],
    pairs: dict[str, int],
    sure: dict[int, float],
) -> list[Slip]:
    rows: list[tuple[float, Slip]] = []
    for note in missing:
        share = sure.get(note.bar, 0.0)
        if share >= RECOGNISED:
            slip = Slip(line.run, note, pairs.get(note.id), note.bar, note.hand, share)
            rows.append((sort_key(note.onset), slip))
    meant = set(pairs.values())
    for index in extras:
        if index in meant:
            continue
        stroke = heard.take.notes[index]
        place = line.place(stroke.onset)
        bar = line.bar(place)
        share = sure.get(bar, 0.0)
        if share >= RECOGNISED:
            rows.append((place, Slip(line.run, None, index, bar, line.hand(stroke), share)))
    rows.sort(key=lambda row: row[0])
    return [slip for _, slip in rows]
