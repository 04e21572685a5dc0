"""Reads a `Notation` (MusicXML in normal form) into a frozen `Piece`."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction

from passagework.score.bars import BarReader
from passagework.score.durations import number
from passagework.score.hand_guess import assign_hands
from passagework.score.marks import Marks
from passagework.score.markup import Element
from passagework.score.notation import Notation
from passagework.score.piece import Clef, Note, Piece, Pitch, Rest, Side, Slur
from passagework.score.playing_order import Jumps, playing_order
from passagework.score.signs import Signs, printed_note_value, read_signs, read_tuplet
from passagework.score.ties import Head, join_ties
from passagework.score.titles import read_titles
from passagework.score.warnings import Warnings


@dataclass(slots=True)
class _Heads:
    """Noteheads in document order, column by column."""

    elements: list[Element] = field(default_factory=list)
    signs: list[Signs] = field(default_factory=list)
    bars: list[int] = field(default_factory=list)
    onsets: list[Fraction] = field(default_factory=list)
    durations: list[Fraction] = field(default_factory=list)
    pitches: list[Pitch] = field(default_factory=list)
    staves: list[int] = field(default_factory=list)
    voices: list[str] = field(default_factory=list)
    chords: list[int] = field(default_factory=list)


def read_piece(notation: Notation) -> Piece:
    """The reading of `notation`. Total for every document in normal form; what is odd is a warning."""
    reader = _Reader(notation)
    for index, measure in enumerate(notation.measures):
        reader.measure(index, measure)
    return reader.finish()


class _Reader:
    def __init__(self, notation: Notation) -> None:
        self.notation = notation
        self.divisions = notation.divisions
        self.warnings = Warnings()
        self.marks = Marks(self.warnings)
        self.bars = BarReader(self.warnings)
        self.heads = _Heads()
        self.rests: list[Rest] = []
        self.clefs: list[Clef] = []
        self.start = Fraction(0)
        self.chord = 0
        self.transpose = 0
        self.fractions: dict[int, Fraction] = {}
        self.pitches: dict[tuple[str, int, int], Pitch] = {}

    def quarters(self, ticks: int) -> Fraction:
        value = self.fractions.get(ticks)
        if value is None:
            value = self.fractions[ticks] = Fraction(ticks, self.divisions)
        return value

    def measure(self, index: int, measure: Element) -> None:
        """Read one measure, which begins at `self.start`."""
        at = 0
        furthest = 0
        sounding = 0
        last_start = 0
        whole_rests: list[int] = []
        label = measure.get("number", "")
        self.bars.open(index, measure, self.start)
        for child in measure:
            tag = child.tag
            if tag == "note":
                ticks = 0 if child.find("grace") is not None else _ticks(child)
                rest = child.find("rest")
                if child.find("chord") is not None:
                    self._head(child, index, last_start, ticks, chord=True)
                    continue
                if rest is not None and _fills_bar(rest, child, measure):
                    nominal = self.bars.nominal_ticks(self.divisions)
                    if ticks > nominal:
                        ticks = nominal
                    whole_rests.append(ticks)
                last_start = at
                if rest is None:
                    self._head(child, index, at, ticks, chord=False)
                    sounding = max(sounding, at + ticks)
                else:
                    self._rest(child, index, at, ticks)
                at += ticks
                furthest = max(furthest, at)
            elif tag == "backup":
                at = max(0, at - _ticks(child))
            elif tag == "forward":
                at += _ticks(child)
                furthest = max(furthest, at)
            elif tag == "attributes":
                self._attributes(child, index, at)
            elif tag == "direction":
                self._direction(child, index, at, label)
            elif tag == "barline":
                self.bars.barline(child)
            elif tag == "sound":
                place = (self.start + self.quarters(at), index, label, 1, "")
                self.marks.read_sound(child, place)
        self.start = self.bars.close(self.quarters(furthest), empty=furthest == 0)

    def _attributes(self, node: Element, index: int, at: int) -> None:
        onset = self.start + self.quarters(at)
        self.bars.attributes(node, onset, at_start=at == 0)
        for clef in node.findall("clef"):
            sign = (clef.findtext("sign") or "G").strip()
            line = number(clef.findtext("line"))
            change = number(clef.findtext("clef-octave-change"))
            staff = number(clef.get("number", "1"))
            self.clefs.append(
                Clef(
                    onset,
                    index,
                    int(staff) if staff and 1 <= staff <= 8 else 1,
                    sign if sign in {"G", "F", "C", "percussion", "TAB", "none"} else "G",
                    int(line) if line and 1 <= line <= 5 else {"F": 4, "C": 3}.get(sign, 2),
                    int(change) if change and abs(change) <= 2 else 0,
                )
            )
        for transpose in node.findall("transpose"):
            semitones = number(transpose.findtext("chromatic")) or 0
            octaves = number(transpose.findtext("octave-change")) or 0
            shift = semitones + 12 * octaves
            self.transpose = int(shift) // 12 if shift % 12 == 0 and abs(shift) <= 36 else 0
            if shift and not self.transpose:
                self.warnings.add("the part is for a transposing instrument; read as written")

    def _direction(self, child: Element, index: int, at: int, label: str) -> None:
        onset = self.start + self.quarters(at)
        offset = child.find("offset")
        if offset is not None:
            onset = max(Fraction(0), onset + self.quarters(_int(offset.text)))
        staff = number(child.findtext("staff"))
        place = (onset, index, label, int(staff) if staff else 1, child.get("id", ""))
        self.marks.read(child, place)

    def _rest(self, child: Element, index: int, at: int, ticks: int) -> None:
        self.rests.append(
            Rest(
                child.get("id", ""),
                index,
                self.start + self.quarters(at),
                self.quarters(ticks),
                int(child.findtext("staff") or 1),
                child.findtext("voice") or "1",
                printed=child.get("print-object") != "no",
            )
        )

    def _head(self, child: Element, index: int, at: int, ticks: int, *, chord: bool) -> None:
        heads = self.heads
        pitch = child.find("pitch")
        if pitch is None:
            return
        if not chord or not heads.elements:
            self.chord += 1
        key = (
            pitch.findtext("step") or "C",
            _int(pitch.findtext("alter")),
            _int(pitch.findtext("octave")) + self.transpose,
        )
        known = self.pitches.get(key)
        if known is None:
            known = self.pitches[key] = Pitch(*key)
        heads.elements.append(child)
        heads.signs.append(read_signs(child))
        heads.bars.append(index)
        heads.onsets.append(self.start + self.quarters(at))
        heads.durations.append(self.quarters(ticks))
        heads.pitches.append(known)
        heads.staves.append(int(child.findtext("staff") or 1))
        heads.voices.append(child.findtext("voice") or "1")
        heads.chords.append(self.chord)

    def finish(self) -> Piece:
        """Join ties, find the hands, unfold the repeats."""
        bars = self.bars.finish()
        self.marks.finish(bars)
        notes = self._notes(bars_numbers=[b.label for b in bars])
        signs = dict(self.marks.signs)
        jumps = Jumps(
            segno=signs.get("segno"),
            coda=max((b for s, b in self.marks.signs if s == "coda"), default=None),
            to_coda=signs.get("tocoda", _first_coda(self.marks.signs)),
            fine=signs.get("fine"),
            da_capo=signs.get("dacapo"),
            dal_segno=signs.get("dalsegno"),
        )
        title, composer = read_titles(self.notation.root)
        staves = max([1, *(n.staff for n in notes), *(r.staff for r in self.rests)])
        sides = assign_hands(notes, staves, self.warnings, [b.label for b in bars])
        notes = [
            replace(note, hand=side, hand_sure=sure) if (side, sure) != (note.hand, 1.0) else note
            for note, (side, sure) in zip(notes, sides, strict=True)
        ]
        return Piece(
            title=title,
            composer=composer,
            bars=bars,
            notes=tuple(notes),
            rests=tuple(sorted(self.rests, key=lambda r: (r.onset, r.staff))),
            clefs=tuple(sorted(self.clefs, key=lambda c: (c.onset, c.staff))),
            key_signatures=self.bars.keys,
            dynamics=tuple(self.marks.dynamics),
            hairpins=tuple(self.marks.hairpins),
            words=tuple(self.marks.words),
            metronomes=tuple(self.marks.metronomes),
            pedals=tuple(self.marks.pedals),
            slurs=tuple(self._slurs()),
            octave_shifts=tuple(self.marks.shifts),
            playing_order=playing_order(bars, jumps),
            staves=staves,
            warnings=(*self.notation.warnings, *self.warnings.sentences()),
        )

    def _notes(self, bars_numbers: list[str]) -> list[Note]:
        h = self.heads
        excused = self.bars.excused
        ties = [
            Head(
                h.onsets[i],
                h.durations[i],
                h.pitches[i].midi,
                h.voices[i],
                h.staves[i],
                bars_numbers[h.bars[i]],
                starts=h.signs[i].tie_start,
                stops=h.signs[i].tie_stop,
                grace=h.elements[i].find("grace") is not None,
                excused=h.bars[i] in excused or h.signs[i].let_ring,
            )
            for i in range(len(h.elements))
        ]
        groups = join_ties(ties, self.warnings)
        fingers = self._fingers()
        rows = [(self._note(group, ties, fingers), group[0]) for group in groups]
        rows.sort(key=lambda row: (row[0].onset, not row[0].grace, row[1] if row[0].grace else 0,
                                   row[0].midi, row[1]))  # fmt: skip
        return [note for note, _ in rows]

    def _note(self, group: list[int], ties: list[Head], fingers: list[tuple[int, ...]]) -> Note:
        h = self.heads
        i = group[0]
        element = h.elements[i]
        signs = h.signs[i]
        grace = element.find("grace")
        articulations = set(signs.articulations)
        ornaments = list(signs.ornaments)
        for j in group[1:]:
            articulations |= h.signs[j].articulations & {"fermata"}
            ornaments += [o for o in h.signs[j].ornaments if o.kind != "wavy-line"]
        side: Side = "right" if h.staves[i] == 1 else "left"
        octaves = self._shift_at(h.onsets[i], h.staves[i])
        return Note(
            id=element.get("id", ""),
            bar=h.bars[i],
            onset=h.onsets[i],
            duration=sum((h.durations[j] for j in group), Fraction(0)),
            pitch=h.pitches[i],
            staff=h.staves[i],
            voice=h.voices[i],
            hand=side,
            chord=h.chords[i],
            grace="" if grace is None else "slashed" if grace.get("slash") == "yes" else "plain",
            tied_ids=tuple(h.elements[j].get("id", "") for j in group[1:]),
            fingers=fingers[i],
            tuplet=read_tuplet(element),
            articulations=frozenset(articulations),
            ornaments=tuple(ornaments),
            arpeggio=signs.arpeggio,
            accidental=(element.findtext("accidental") or "").strip(),
            written_octave_shift=octaves,
            printed=element.get("print-object") != "no",
            cue=element.find("cue") is not None,
            beams=tuple((b.text or "").strip() for b in element.findall("beam")),
            value=printed_note_value(element),
        )

    def _shift_at(self, onset: Fraction, staff: int) -> int:
        for shift in self.marks.shifts:
            if shift.staff == staff and shift.onset <= onset < shift.end:
                return shift.octaves
        return 0

    def _fingers(self) -> list[tuple[int, ...]]:
        """Printed fingers of every head; a stack typed on one note of a chord is dealt out."""
        h = self.heads
        fingers = [tuple(s.fingers) for s in h.signs]
        chords: dict[int, list[int]] = {}
        for index, chord in enumerate(h.chords):
            chords.setdefault(chord, []).append(index)
        for members in chords.values():
            holders = [i for i in members if fingers[i]]
            if len(members) < 2 or len(holders) != 1 or h.signs[holders[0]].substituted:
                continue
            stack = fingers[holders[0]]
            if len(stack) != len(members) or len(set(stack)) != len(stack):
                continue
            upward = sorted(members, key=lambda i: h.pitches[i].midi)
            ordered = sorted(stack, reverse=h.staves[members[0]] > 1)
            for index, finger in zip(upward, ordered, strict=True):
                fingers[index] = (finger,)
        return fingers

    def _slurs(self) -> list[Slur]:
        h = self.heads
        events: list[tuple[Fraction, int, int, str, str]] = []
        for i, signs in enumerate(h.signs):
            for kind, name in signs.slurs:
                events.append((h.onsets[i], 0 if kind == "stop" else 1, i, kind, name))
        grace_last = {i: h.elements[i].find("grace") is None for *_, i, _, _ in events}
        events.sort(key=lambda e: (e[0], grace_last[e[2]], e[1], e[2]))
        opened: dict[str, list[int]] = {}
        slurs: list[Slur] = []
        for onset, _, index, kind, name in events:
            if kind == "start":
                opened.setdefault(name, []).append(index)
                continue
            starts = opened.get(name, [])
            own = [s for s in starts if h.staves[s] == h.staves[index]]
            if not starts:
                continue
            first = (own or starts)[0]
            starts.remove(first)
            slurs.append(
                Slur(
                    h.elements[first].get("id", ""),
                    h.elements[index].get("id", ""),
                    h.onsets[first],
                    onset + h.durations[index],
                    h.staves[first],
                )
            )
        return sorted(slurs, key=lambda s: (s.onset, s.end))


def _first_coda(signs: list[tuple[str, int]]) -> int | None:
    """Where two coda signs stand and nothing says which is which, the first one is the exit."""
    codas = sorted({bar for sign, bar in signs if sign == "coda"})
    return codas[0] if len(codas) > 1 else None


def _fills_bar(rest: Element, note: Element, measure: Element) -> bool:
    """Whether a rest stands for the whole bar, whatever its typed duration."""
    if rest.get("measure") == "yes":
        return True
    if (note.findtext("type") or "whole") != "whole":
        return False
    voice = note.findtext("voice")
    return all(n is note or n.findtext("voice") != voice for n in measure.findall("note"))


def _ticks(element: Element) -> int:
    return _int(element.findtext("duration"))


def _int(text: str | None) -> int:
    return int(text) if text else 0
