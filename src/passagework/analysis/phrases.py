"""Phrases: where the tune takes breath.

Every note of the tune may begin a phrase. What speaks for a breath before it: a longer wait since the
note before than is usual (the idea of Cambouropoulos's local boundary model, 2001: changes of interval
in time and pitch), a rest, the end of a slur, a fermata, a sign of form at the bar line, and that the
bar begins a passage that comes back. The phrases are then the cut that gathers most evidence while
phrase lengths stay near a power of two of bars (dynamic programming; the lengths are a mild wish only).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log2

from passagework.analysis.melody import Tune
from passagework.score.piece import Note, Piece, Position

USUAL_BARS = 4.0
"""The usual length of a phrase."""

LONGEST_BARS = 17
"""Bars within which a phrase must end."""

LENGTH_COST = 0.45
"""Price of a phrase twice or half as long as usual, in the unit of evidence."""

PHRASE_COST = 0.9
"""Evidence that a breath needs to be worth a cut."""

WAIT = 0.8
"""Worth of a wait twice the usual."""

LONGEST_WAIT = 2.0
REST = 0.7
SLUR = 0.6
FERMATA = 1.2
RETURN = 0.8
BAR_SIGN = 1.5
LEAP = 0.2
"""Worth of a leap of an octave at the breath."""


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase of the tune."""

    first: str
    """Ids of its first and last note of the tune."""
    last: str
    onset: Position
    end: Position
    first_bar: int
    """Bar indices of the first and last note."""
    last_bar: int
    evidence: float
    """What spoke for the breath before it; 0 for the first phrase."""


def find_phrases(piece: Piece, tune: Tune, marked: Sequence[float]) -> tuple[Phrase, ...]:
    """Phrases of `tune`; `marked[b]` is the evidence for a boundary at the bar line before bar b."""
    notes = [piece.by_id[i] for i in tune.sequence]
    if not notes:
        return ()
    breath = _breaths(piece, notes, marked)
    places = _candidates(notes, breath)
    starts = _cut(piece, notes, breath, places)
    phrases: list[Phrase] = []
    for k, start in enumerate(starts):
        stop = starts[k + 1] if k + 1 < len(starts) else len(notes)
        first, last = notes[start], notes[stop - 1]
        evidence = round(breath[start], 3) if start else 0.0
        phrases.append(
            Phrase(first.id, last.id, first.onset, last.end, first.bar, last.bar, evidence)
        )
    return tuple(phrases)


def _breaths(piece: Piece, notes: Sequence[Note], marked: Sequence[float]) -> list[float]:
    """Evidence for a breath before each note of the tune."""
    onsets = [piece.ticks(n.onset) for n in notes]
    lengths = [piece.ticks(n.duration) for n in notes]
    waits = [b - a for a, b in pairwise(onsets)]
    slur_ends = {piece.by_id[s.last].id for s in piece.slurs if s.last in piece.by_id}
    slur_starts = {slur.first for slur in piece.slurs}
    breath = [0.0]
    for k, wait in enumerate(waits):
        before, after = notes[k], notes[k + 1]
        around = sorted(waits[max(0, k - 8) : k + 9])
        usual = max(1, around[len(around) // 2])
        value = WAIT * min(LONGEST_WAIT, max(0.0, log2(max(wait, 1) / usual)))
        silence = wait - lengths[k]
        if silence > 0:
            value += REST * min(1.0, silence / lengths[k])
        if before.id in slur_ends and (after.id in slur_starts or not slur_starts):
            value += SLUR
        elif before.id in slur_ends:
            value += SLUR / 2
        if "fermata" in before.articulations:
            value += FERMATA
        value += LEAP * min(1.0, abs(after.midi - before.midi) / 12)
        if after.bar != before.bar or after.onset == piece.bars[after.bar].onset:
            value += min(BAR_SIGN, marked[after.bar])
        elif after.bar + 1 < len(piece.bars) and _is_upbeat(piece, notes, k + 1):
            value += min(BAR_SIGN, marked[after.bar + 1])
        breath.append(value)
    return breath


def _is_upbeat(piece: Piece, notes: Sequence[Note], k: int) -> bool:
    """Whether note k begins the last third of its bar, and what follows from there leads on."""
    bar = piece.bars[notes[k].bar]
    return 3 * (bar.end - notes[k].onset) <= bar.length


def _candidates(notes: Sequence[Note], breath: Sequence[float]) -> list[int]:
    """The likeliest breath of each bar, and the beginning."""
    best: dict[int, int] = {}
    for k in range(1, len(notes)):
        bar = notes[k].bar
        if bar not in best or breath[k] > breath[best[bar]]:
            best[bar] = k
    return [0, *sorted(best.values())]


def _cut(
    piece: Piece, notes: Sequence[Note], breath: Sequence[float], places: Sequence[int]
) -> list[int]:
    """Indices of the notes that begin phrases."""
    at = [_bars(piece, notes[k].onset) for k in places]
    end = _bars(piece, notes[-1].end)
    best = [0.0]
    origin = [-1]
    for b in range(1, len(places)):
        value, source = -1e9, b - 1
        for a in range(b - 1, -1, -1):
            length = at[b] - at[a]
            if length > LONGEST_BARS and a < b - 1:
                break
            candidate = best[a] - _length_cost(length)
            if candidate > value:
                value, source = candidate, a
        best.append(value + breath[places[b]] - PHRASE_COST)
        origin.append(source)
    last = max(
        (b for b in range(len(places)) if end - at[b] <= LONGEST_BARS or b == len(places) - 1),
        key=lambda b: best[b] - _length_cost(end - at[b]),
    )
    starts: list[int] = []
    while last >= 0:
        starts.append(places[last])
        last = origin[last]
    return starts[::-1]


def _bars(piece: Piece, position: Position) -> float:
    """`position` counted in bars."""
    bar = piece.bar_at(position)
    return bar.index + (float((position - bar.onset) / bar.length) if bar.length else 0.0)


def _length_cost(bars: float) -> float:
    return LENGTH_COST * abs(log2(max(bars, 0.25) / USUAL_BARS))
