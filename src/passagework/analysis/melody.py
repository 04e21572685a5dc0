"""Which notes carry the tune at every moment, in whichever hand, and which carry the bass.

The tune is found in steps, each in its own module: what sounds when (`melody_slices`), how
much each note asks to be heard (`melody_salience`, with the entries of a subject from
`melody_subject`), and the best line through it all (`melody_path`, less what `melody_vamps` takes back). Voice numbers are never read.
The result is one line at a time: of two tunes at once (a canon, a duet of voices) it follows the one
that asks for more, and says so by its confidence.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import exp

from passagework.analysis.melody_path import BASS_COSTS, best_line
from passagework.analysis.melody_salience import BASS, TUNE, Salience, weigh_notes
from passagework.analysis.melody_slices import RIGHT, Slices, cut_slices, mirrored
from passagework.analysis.melody_subject import subject_entries
from passagework.analysis.melody_vamps import without_vamps
from passagework.score.piece import Note, Piece, Position, Side

REST_ENDS_SPAN = Fraction(1, 2)
"""Share of a full bar: a rest in the tune of at least this ends a span."""

ANSWER_WITHIN = Fraction(1)
"""Bars: after a longer rest another hand's note begins a new tune and takes nothing over."""

SURE_BY_MARGIN = 1.6
"""Steepness of the confidence: 0.5 where another note asks as much, 0.83 where the tune asks for 1 more."""

FIGURE_DOUBT = 0.5
"""Share of the confidence that a note loses which is wholly a figure: an accompaniment alone is no tune."""

STRAYS = {1: 0.75, 2: 0.9}
"""Factor of confidence for a change of hands by the notes of the shorter side."""

OCTAVES = frozenset({12, 24})
"""Semitones between a tune and its doubling."""

ALONG = 3
"""Notes in a row for which the other hand must double the tune to be said to."""

ORNAMENT_REACH = 12
"""Semitones within which a grace note belongs to the tune's note it leans on."""


@dataclass(frozen=True, slots=True)
class TuneSpan:
    """A stretch of the tune in one hand, without a long rest in it."""

    first: str
    """Ids of its first and last note."""
    last: str
    hand: Side
    onset: Position
    end: Position
    note_ids: tuple[str, ...]
    confidence: float
    """0 to 1: how far its notes ask for more than the others that sound with them."""


@dataclass(frozen=True, slots=True)
class Handover:
    """The tune passes from one hand to the other."""

    before: str
    """Id of the last note in the hand that gives it."""
    after: str
    """Id of the first note in the hand that takes it."""
    from_hand: Side
    to_hand: Side
    position: Position
    """Where the new hand begins."""
    bar: int
    """Index of the bar of `position`."""
    gap: Fraction
    """Quarters from the end of the one note to the onset of the other; negative where they overlap."""
    interval: int
    """Semitones from the one to the other."""
    confidence: float
    """That of the less sure of the two spans, less for one or two notes, times how sure the hands are."""


@dataclass(frozen=True, slots=True)
class SplitHand:
    """A stretch in which one hand plays the tune and something under (or over) it."""

    hand: Side
    onset: Position
    end: Position
    first_bar: int
    last_bar: int
    tune: tuple[str, ...]
    accompaniment: tuple[str, ...]
    chordal: float
    """Share of the accompaniment that is struck and let go together with the tune (plain chords)."""
    below: float
    """Share of the accompaniment that lies below the tune's note it sounds with."""


@dataclass(frozen=True)
class Tune:
    """The tune and the bass of a piece."""

    melody: frozenset[str]
    """Ids of the notes that carry the tune, its grace notes included, octave doublings not."""
    bass: frozenset[str]
    """Ids of the notes that carry the bass line."""
    doublings: frozenset[str]
    """Ids of notes that double the tune at the octave."""
    line: tuple[TuneSpan, ...]
    handovers: tuple[Handover, ...]
    split_hands: tuple[SplitHand, ...]
    confidence: float
    """Mean of the spans' confidences, weighted by their notes; 0 where there is no tune."""

    @cached_property
    def sequence(self) -> tuple[str, ...]:
        """The ids of the tune's notes in order, grace notes apart."""
        return tuple(i for span in self.line for i in span.note_ids)


def find_tune(piece: Piece) -> Tune:
    """The tune and bass of `piece`; empty where nothing sounds. Linear in the notes."""
    slices = cut_slices(piece)
    if not len(slices):
        none: frozenset[str] = frozenset()
        return Tune(none, none, none, (), (), (), 0.0)
    entries = subject_entries(piece, slices)
    subject = frozenset(i for entry in entries for i in entry.notes)
    bound = {b: a for e in entries for a, b in zip(e.notes, e.notes[1:], strict=False)}
    salience = weigh_notes(piece, slices, subject, TUNE)
    path = without_vamps(slices, best_line(slices, salience.worth, bound), salience.figure)
    tune = _in_order(path)
    bass = _bass(piece, slices, frozenset(tune))
    sure = _confidences(slices, salience, path, frozenset(tune))
    spans, rows_of = _spans(piece, slices, tune, sure)
    doublings = _doublings(slices, tune)
    ids = slices.attacks.ids
    notes = len(tune)
    return Tune(
        melody=frozenset(ids[i] for i in tune) | _grace_notes(piece, slices, tune),
        bass=frozenset(ids[i] for i in bass),
        doublings=frozenset(ids[i] for i in doublings),
        line=spans,
        handovers=_handovers(piece, slices, spans, rows_of),
        split_hands=_split_hands(piece, slices, tune, frozenset(doublings)),
        confidence=round(sum(sure.values()) / notes, 3) if notes else 0.0,
    )


def _in_order(path: Sequence[int]) -> list[int]:
    """The notes of a path, each once, in order."""
    return [i for i in dict.fromkeys(path) if i >= 0]


def _bass(piece: Piece, slices: Slices, tune: frozenset[int]) -> list[int]:
    """The line of the bass: the mirrored search, in which the tune's own notes are not to be had."""
    upside_down = mirrored(slices)
    salience = weigh_notes(piece, upside_down, frozenset(), BASS)
    worth = [BASS.taken if i in tune else w for i, w in enumerate(salience.worth)]
    return _in_order(best_line(upside_down, worth, price=BASS_COSTS))


def _confidences(
    slices: Slices, salience: Salience, path: Sequence[int], tune: frozenset[int]
) -> dict[int, float]:
    """For every note of the tune how sure it is, from its margin over what else begins meanwhile."""
    rival: dict[int, float] = {}
    for at, i in enumerate(path):
        if i < 0:
            continue
        best = max((salience.worth[k] for k in slices.begins[at] if k not in tune), default=0.0)
        rival[i] = max(rival.get(i, 0.0), best)
    return {
        i: (1.0 - FIGURE_DOUBT * salience.figure[i])
        / (1.0 + exp(-SURE_BY_MARGIN * (salience.worth[i] - other)))
        for i, other in rival.items()
    }


def _spans(
    piece: Piece, slices: Slices, tune: Sequence[int], sure: dict[int, float]
) -> tuple[tuple[TuneSpan, ...], list[list[int]]]:
    rows = slices.attacks
    groups: list[list[int]] = []
    heard = slices.heard
    for i in tune:
        previous = groups[-1][-1] if groups else None
        if previous is not None and rows.hand[previous] == rows.hand[i]:
            until = max(rows.end[previous], _tick(slices, heard[previous]))
            whole_bar = piece.ticks(piece.bars[piece.notes[rows.note[i]].bar].time.length)
            if rows.onset[i] - until < REST_ENDS_SPAN * whole_bar:
                groups[-1].append(i)
                continue
        groups.append([i])
    spans: list[TuneSpan] = []
    for group in groups:
        first, last = (piece.notes[rows.note[k]] for k in (group[0], group[-1]))
        mean = sum(sure[k] for k in group) / len(group)
        ids = tuple(rows.ids[k] for k in group)
        spans.append(
            TuneSpan(first.id, last.id, first.hand, first.onset, last.end, ids, round(mean, 3))
        )
    return tuple(spans), groups


def _tick(slices: Slices, at: int) -> int:
    return slices.ticks[at] if at < len(slices) else slices.end


def _handovers(
    piece: Piece, slices: Slices, spans: Sequence[TuneSpan], groups: Sequence[list[int]]
) -> tuple[Handover, ...]:
    rows = slices.attacks
    found: list[Handover] = []
    for k in range(1, len(spans)):
        giving, taking = spans[k - 1], spans[k]
        if giving.hand == taking.hand:
            continue
        before = piece.notes[rows.note[groups[k - 1][-1]]]
        after = piece.notes[rows.note[groups[k][0]]]
        gap = after.onset - before.end
        if gap > ANSWER_WITHIN * piece.bars[after.bar].time.length:
            continue
        sure = min(_settled(giving), _settled(taking)) * min(before.hand_sure, after.hand_sure)
        found.append(
            Handover(
                before.id,
                after.id,
                giving.hand,
                taking.hand,
                after.onset,
                after.bar,
                gap,
                after.midi - before.midi,
                round(sure, 3),
            )
        )
    return tuple(found)


def _settled(span: TuneSpan) -> float:
    """Confidence that the tune is in that hand to stay: one or two notes may be a stray."""
    return span.confidence * STRAYS.get(len(span.note_ids), 1.0)


def _doublings(slices: Slices, tune: Sequence[int]) -> list[int]:
    """Notes struck and let go with a note of the tune, one or two octaves from it.

    In the other hand only where it goes along for `ALONG` notes: a bass meets the tune by chance.
    """
    rows = slices.attacks
    own = set(tune)
    found: list[int] = []
    along: list[list[int]] = []
    for i in tune:
        octaves = [
            k
            for k in slices.begins[rows.first[i]]
            if k not in own
            and rows.end[k] == rows.end[i]
            and abs(rows.pitch[k] - rows.pitch[i]) in OCTAVES
        ]
        found += (k for k in octaves if rows.hand[k] == rows.hand[i])
        others = [k for k in octaves if rows.hand[k] != rows.hand[i]]
        if others:
            along.append(others)
        if not others or i == tune[-1]:
            if len(along) >= ALONG:
                found += (k for group in along for k in group)
            along = []
    return found


def _grace_notes(piece: Piece, slices: Slices, tune: Sequence[int]) -> frozenset[str]:
    """Grace notes that lean on a note of the tune."""
    principal: dict[tuple[Position, Side], Note] = {}
    for i in tune:
        note = piece.notes[slices.attacks.note[i]]
        principal[note.onset, note.hand] = note
    found: set[str] = set()
    for note in piece.notes:
        if note.grace:
            leans_on = principal.get((note.onset, note.hand))
            if leans_on and abs(leans_on.midi - note.midi) <= ORNAMENT_REACH:
                found.add(note.id)
    return frozenset(found)


def _split_hands(
    piece: Piece, slices: Slices, tune: Sequence[int], doublings: frozenset[int]
) -> tuple[SplitHand, ...]:
    """Stretches in which the hand that has the tune plays other notes while it is heard."""
    rows = slices.attacks
    heard = slices.heard
    own = set(tune) | doublings
    found: list[tuple[int, list[int]]] = []
    for i in tune:
        meanwhile: dict[int, None] = {}
        for at in range(rows.first[i], max(heard[i], rows.past[i])):
            for k in slices.sounding[at]:
                if rows.hand[k] == rows.hand[i] and k not in own:
                    meanwhile[k] = None
        if meanwhile:
            found.append((i, list(meanwhile)))
    groups: list[list[tuple[int, list[int]]]] = []
    for i, others in found:
        last = groups[-1][-1][0] if groups else None
        near = last is not None and _bar(piece, slices, i) - _bar(piece, slices, last) <= 1
        if last is not None and near and rows.hand[last] == rows.hand[i]:
            groups[-1].append((i, others))
        else:
            groups.append([(i, others)])
    return tuple(_split_hand(piece, slices, group) for group in groups)


def _bar(piece: Piece, slices: Slices, i: int) -> int:
    return piece.notes[slices.attacks.note[i]].bar


def _split_hand(piece: Piece, slices: Slices, group: Sequence[tuple[int, list[int]]]) -> SplitHand:
    rows = slices.attacks
    tune = [i for i, _ in group]
    pairs = [(i, k) for i, others in group for k in others]
    under = list(dict.fromkeys(k for _, k in pairs))
    together = sum(rows.onset[k] == rows.onset[i] and rows.end[k] == rows.end[i] for i, k in pairs)
    below = sum(rows.pitch[k] < rows.pitch[i] for i, k in pairs)
    notes = [piece.notes[rows.note[k]] for k in (*tune, *under)]
    return SplitHand(
        hand="right" if rows.hand[tune[0]] == RIGHT else "left",
        onset=min(n.onset for n in notes),
        end=max(n.end for n in notes),
        first_bar=min(n.bar for n in notes),
        last_bar=max(n.bar for n in notes),
        tune=tuple(rows.ids[i] for i in tune),
        accompaniment=tuple(rows.ids[k] for k in sorted(under)),
        chordal=round(together / len(pairs), 3),
        below=round(below / len(pairs), 3),
    )
