"""Wrong, missing and added notes of a take that count as slips, and where they stand.

Not every difference from the page is a slip. Left out of account are: a note whose key another voice strikes or holds; what
an ornament, a tremolo or small print leaves to the player; notes that the page does not show; a key that bounces; the
chord at which a pass breaks off; and whatever stands where too little of the page was recognised.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from passagework.listening.alignment import Match
from passagework.listening.findings.left_open import LeftOpen
from passagework.listening.findings.lines import Line, lines_of
from passagework.listening.findings.trills import without_trills
from passagework.listening.heard import Heard
from passagework.score.piece import Note, sort_key
from passagework.spots.spot import SpotHand

BOUNCE_S = 0.08
"""Seconds after a stroke within which the same key is no new note: a bouncing key or a contact that chatters."""
PAIR_KEYS = 16
"""Semitones, at most, between the two: a clef or a ledger line misread is a sixth or so, an octave misread 12."""
LATE_S = 0.8
"""Seconds by which a key may be struck early or late and still be the note that was left out."""
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


def read_slips(heard: Heard) -> tuple[Slip, ...]:
    """Every slip of the take, pass by pass, in order of the piece."""
    lines = lines_of(heard)
    open_ = LeftOpen(heard, lines)
    extra_by_run = _runs_of_extras(heard)
    missing_by_run: dict[int, list[str]] = defaultdict(list)
    for gone in heard.alignment.missing:
        missing_by_run[gone.run].append(gone.note)
    found: list[Slip] = []
    for run, row in enumerate(heard.alignment.by_pass):
        line = lines[run]
        if line is None:
            continue
        extras = [k for k in extra_by_run.get(run, []) if not open_.extra(run, k)]
        extras = without_trills(heard.take, _without_bounces(heard, row, extras))
        missing = [
            heard.piece.by_id[i] for i in missing_by_run.get(run, ()) if not open_.missing(run, i)
        ]
        missing = _before_the_end(heard, run, row, missing)
        missing, extras = _out_of_time(heard, line, missing, extras)
        pairs = _pairs(heard, run, line, missing, extras)
        sure = _recognised(heard, row, missing, pairs)
        found += _slips(heard, line, missing, extras, pairs, sure)
    return tuple(found)


def _runs_of_extras(heard: Heard) -> dict[int, list[int]]:
    """The extra strokes of each pass; one between two passes belongs to neither."""
    passes = heard.alignment.passes
    starts = [p.start for p in passes]
    found: dict[int, list[int]] = defaultdict(list)
    for index in heard.alignment.extra:
        onset = heard.take.notes[index].onset
        at = bisect_right(starts, onset) - 1
        if at >= 0 and onset <= passes[at].end:
            found[at].append(index)
    return found


def _without_bounces(heard: Heard, row: Sequence[Match], extras: Sequence[int]) -> list[int]:
    """`extras` without strokes that follow a matched one of the same key at once."""
    if not extras:
        return []
    keys: dict[int, list[float]] = defaultdict(list)
    for match in row:
        stroke = heard.stroke(match)
        keys[stroke.pitch].append(stroke.onset)
    found: list[int] = []
    for index in extras:
        stroke = heard.take.notes[index]
        onsets = keys.get(stroke.pitch, [])
        at = bisect_left(onsets, stroke.onset)
        near = [abs(stroke.onset - t) for t in onsets[max(at - 1, 0) : at + 1]]
        if not near or min(near) > BOUNCE_S:
            found.append(index)
    return found


def _before_the_end(
    heard: Heard, run: int, row: Sequence[Match], missing: Sequence[Note]
) -> list[Note]:
    """`missing` without the chord at which a pass breaks off, or in whose middle it begins."""
    onsets = [heard.note(m).onset for m in row]
    low, high = min(onsets), max(onsets)
    first, last = run == 0, run == len(heard.alignment.passes) - 1
    whole = heard.alignment.passes[run]
    begins = first and whole.first_bar == 0
    ends = last and whole.last_bar == len(heard.piece.bars) - 1
    return [n for n in missing if (n.onset > low or begins) and (n.onset < high or ends)]


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


def _out_of_time(
    heard: Heard, line: Line, missing: Sequence[Note], extras: Sequence[int]
) -> tuple[list[Note], list[int]]:
    """Both lists without the notes that were struck after all, early or late: that is no matter of notes."""
    if not missing or not extras:
        return list(missing), list(extras)
    keys: dict[int, list[int]] = defaultdict(list)
    for index in extras:
        keys[heard.take.notes[index].pitch].append(index)
    offers: list[tuple[float, int, int]] = []
    for k, note in enumerate(missing):
        due = line.time(sort_key(note.onset))
        for index in keys.get(note.midi, ()):
            off = abs(heard.take.notes[index].onset - due)
            if off <= LATE_S:
                offers.append((off, k, index))
    gone: set[int] = set()
    used: set[int] = set()
    for _, k, index in sorted(offers):
        if k not in gone and index not in used:
            gone.add(k)
            used.add(index)
    return [n for k, n in enumerate(missing) if k not in gone], [k for k in extras if k not in used]


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
