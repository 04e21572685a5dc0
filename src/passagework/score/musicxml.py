"""Reads a `Notation` (MusicXML in normal form) into a frozen `Piece`."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from fractions import Fraction

from passagework.score.fingers import printed_fingers
from passagework.score.hand_guess import assign_hands
from passagework.score.heads import Head, printed_value
from passagework.score.measures import MeasureReader
from passagework.score.notation import Notation
from passagework.score.piece import Note, OctaveShift, Piece
from passagework.score.playing_order import Jumps, playing_order
from passagework.score.slurs import join_slurs
from passagework.score.ties import join_ties
from passagework.score.titles import read_titles
from passagework.score.warnings import Warnings


def read_piece(notation: Notation) -> Piece:
    """The reading of `notation`. Total for every document in normal form; what is odd is a warning."""
    warnings = Warnings()
    reader = MeasureReader(notation.divisions, warnings)
    for index, measure in enumerate(notation.measures):
        reader.read(index, measure)
    bars = reader.bars.finish()
    labels = [bar.label for bar in bars]
    marks = reader.marks
    marks.finish(bars)
    heads = reader.notes.heads
    groups = join_ties(heads, reader.bars.excused, labels, reader.divisions, warnings)
    notes = _notes(reader, groups)
    staves = max([1, *(n.staff for n in notes), *(r.staff for r in reader.rests)])
    sides = assign_hands(notes, reader.divisions, staves, warnings, labels, marks.words)
    title, composer = read_titles(notation.root)
    return Piece(
        title=title,
        composer=composer,
        bars=bars,
        notes=tuple(
            note
            if (note.hand, note.hand_sure) == (side, sure)
            else replace(note, hand=side, hand_sure=sure)
            for note, (side, sure) in zip(notes, sides, strict=True)
        ),
        rests=tuple(sorted(reader.rests, key=lambda r: (r.onset, r.staff))),
        clefs=tuple(sorted(reader.clefs, key=lambda c: (c.onset, c.staff))),
        key_signatures=reader.bars.keys,
        dynamics=tuple(marks.dynamics),
        hairpins=tuple(marks.hairpins),
        words=tuple(marks.words),
        metronomes=tuple(marks.metronomes),
        pedals=tuple(marks.pedals),
        slurs=tuple(join_slurs(heads, reader.quarters)),
        octave_shifts=tuple(marks.shifts),
        playing_order=playing_order(bars, _jumps(marks.signs)),
        staves=staves,
        warnings=(*notation.warnings, *warnings.sentences()),
    )


def _notes(reader: MeasureReader, groups: list[list[int]]) -> list[Note]:
    """The sounding notes, in order of position; graces before the note they lean on."""
    heads = reader.notes.heads
    fingers = printed_fingers(heads)
    shifts = _Shifts(reader.marks.shifts, reader.divisions)
    order = sorted(groups, key=lambda group: _place(heads[group[0]], group[0]))
    return [_note(reader, [heads[i] for i in group], fingers[group[0]], shifts) for group in order]


def _place(head: Head, index: int) -> tuple[int, bool, int, int, int]:
    grace = bool(head.grace)
    return head.onset, not grace, index if grace else 0, head.midi, index


def _note(
    reader: MeasureReader, group: list[Head], fingers: tuple[int, ...], shifts: _Shifts
) -> Note:
    head, tied = group[0], group[1:]
    articulations = set(head.signs.articulations)
    ornaments = list(head.signs.ornaments)
    for other in tied:
        articulations |= other.signs.articulations & {"fermata"}
        ornaments += [o for o in other.signs.ornaments if o.kind != "wavy-line"]
    # A tie may lead over a gap, so the end is that of its last head and not the sum of all.
    length = group[-1].end - head.onset if not head.grace else sum(o.duration for o in tied)
    return Note(
        id=head.id,
        bar=head.bar,
        onset=reader.quarters(head.onset),
        duration=reader.quarters(length),
        pitch=head.pitch,
        staff=head.staff,
        voice=head.voice,
        hand="right" if head.staff == 1 else "left",
        chord=head.chord,
        grace=head.grace,
        tied_ids=tuple(other.id for other in tied),
        fingers=fingers,
        tuplet=head.tuplet,
        articulations=frozenset(articulations),
        ornaments=tuple(ornaments),
        arpeggio=head.signs.arpeggio,
        accidental=head.accidental,
        written_octave_shift=shifts.at(head.staff, head.onset),
        printed=head.printed,
        cue=head.cue,
        beams=head.beams,
        value=printed_value(head),
    )


class _Shifts:
    """Ottava lines, searchable by staff and place."""

    def __init__(self, shifts: list[OctaveShift], divisions: int) -> None:
        self._rows: dict[int, list[tuple[int, int, int]]] = {}
        for shift in sorted(shifts, key=lambda s: s.onset):
            row = (_ticks(shift.onset, divisions), _ticks(shift.end, divisions), shift.octaves)
            self._rows.setdefault(shift.staff, []).append(row)

    def at(self, staff: int, onset: int) -> int:
        """Octaves by which the line over `onset` moves the notes; lines of a staff do not nest."""
        rows = self._rows.get(staff)
        if not rows:
            return 0
        place = bisect_right(rows, onset, key=lambda row: row[0]) - 1
        if place < 0 or onset >= rows[place][1]:
            return 0
        return rows[place][2]


def _ticks(position: Fraction, divisions: int) -> int:
    return round(position * divisions)


def _jumps(signs: list[tuple[str, int]]) -> Jumps:
    first: dict[str, int] = {}
    for name, bar in signs:
        first.setdefault(name, bar)
    last = dict(signs)
    codas = sorted({bar for name, bar in signs if name == "coda"})
    # Where two coda signs stand and nothing says which is which, the first one is the exit.
    exit_ = codas[0] if len(codas) > 1 else None
    return Jumps(
        segno=first.get("segno"),
        coda=codas[-1] if codas else None,
        to_coda=first.get("tocoda", exit_),
        fine=last.get("fine"),
        da_capo=last.get("dacapo"),
        dal_segno=last.get("dalsegno"),
    )
