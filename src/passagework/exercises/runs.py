"""Even runs of one hand in a passage: where its attacks follow each other at one distance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from passagework.exercises.alone import busy_side
from passagework.exercises.passage import Passage
from passagework.exercises.study import Study
from passagework.score.piece import Position, Side, TimeSignature

SHORTEST_RUN = 4
"""Attacks from which a succession is a run."""

LARGEST_GROUP = 8
"""Notes of the largest group that is heard as one."""


@dataclass(frozen=True, slots=True)
class Run:
    """Attacks of one hand at one distance; positions in quarters from the start of the passage."""

    side: Side
    onsets: tuple[Position, ...]
    """Of its attacks; its last one may be longer than the others."""
    step: Fraction
    """Quarters from one to the next."""
    ids: tuple[tuple[str, ...], ...]
    """Ids of the notes of each attack, as the passage cut out of the piece names them."""
    pulse: Fraction
    """Quarters of the beat, or of the part of it, into which its notes are grouped."""
    origin: Position
    """Where a beat falls."""

    @property
    def group(self) -> int:
        """Notes to a pulse."""
        return int(self.pulse / self.step)

    @property
    def chords(self) -> bool:
        """Whether most of its attacks strike more than one key."""
        return 2 * sum(len(row) > 1 for row in self.ids) > len(self.ids)

    @property
    def on_pulse(self) -> tuple[int, ...]:
        """Indices of the attacks that fall on a pulse."""
        return tuple(k for k, at in enumerate(self.onsets) if (at - self.origin) % self.pulse == 0)

    def groups(self, pulses: int = 1) -> list[tuple[Position, ...]]:
        """Whole groups of so many pulses: the positions of their notes and of their end."""
        size = self.group * pulses
        rows = []
        at = next(iter(self.on_pulse), None)
        while at is not None and at + size < len(self.onsets) + 1:
            inside = self.onsets[at : at + size]
            if len(inside) < size:
                break
            rows.append((*inside, inside[-1] + self.step))
            at += size
        return rows


def find_run(passage: Passage, study: Study, side: Side | None = None) -> Run | None:
    """The run that holds most of the notes concerned, of several the longest; None where there is none."""
    hand = side or busy_side(passage, study)
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    heads = study.heads_of_hand(passage, hand)
    attacks: dict[Position, list[str]] = {}
    for note in piece.notes:
        if note.id in heads and not note.grace and note.printed:
            attacks.setdefault(note.onset, []).append(note.id)
    onsets = sorted(attacks)
    wanted = set(passage.note_ids)
    best: tuple[int, int, int, int] | None = None
    start = 0
    for end in range(2, len(onsets) + 1):
        if end < len(onsets) and (
            onsets[end] - onsets[end - 1] == onsets[end - 1] - onsets[end - 2]
        ):
            continue
        row = range(start, end)
        if len(row) >= SHORTEST_RUN and onsets[start + 1] - onsets[start] <= Fraction(1):
            hits = sum(bool(wanted.intersection(attacks[onsets[k]])) for k in row)
            if best is None or (hits, len(row)) > best[:2]:
                best = hits, len(row), start, end
        start = end - 1
    if best is None:
        return None
    row = range(best[2], best[3])
    places = tuple(onsets[k] for k in row)
    step = places[1] - places[0]
    bar = piece.bar_at(places[0])
    pulse = _pulse(step, bar.time)
    if pulse is None:
        return None
    origin = bar.end - bar.time.length if bar.length < bar.time.length else bar.onset
    ids = tuple(tuple(attacks[at]) for at in places)
    return Run(hand, places, step, ids, pulse, origin)


def narrowed(passage: Passage, study: Study, run: Run) -> Passage:
    """The passage without the bars at its ends in which `run` has no note."""
    piece = study.cut_piece(passage.first_bar, passage.last_bar)
    first, last = piece.bar_at(run.onsets[0]).index, piece.bar_at(run.onsets[-1]).index
    return replace(passage, first_bar=passage.first_bar + first, last_bar=passage.first_bar + last)


def _pulse(step: Fraction, time: TimeSignature) -> Fraction | None:
    """The beat, or the part or multiple of it, that holds two to eight of the notes as a whole number."""
    for pulse in (time.beat, time.beat / 2, time.beat * 2, time.length):
        count = pulse / step
        if count.denominator == 1 and 2 <= count <= LARGEST_GROUP:
            return pulse
    return None
