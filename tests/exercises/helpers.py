"""What the tests of this room ask of any notation."""

from __future__ import annotations

from fractions import Fraction

from passagework.score import Piece
from passagework.score.measures import MeasureReader
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.values import plain_value, tuplet_of
from passagework.score.warnings import Warnings

F = Fraction


def read(notation: Notation) -> Piece:
    """The reading of the notation as a file: written out and read again."""
    from passagework.score import read_score

    return read_score(notation.to_bytes()).piece


def sound(piece: Piece) -> list[tuple[str, Fraction, Fraction, int]]:
    return [(n.id, n.onset, n.duration, n.midi) for n in piece.notes]


def wrong_values(notation: Notation) -> set[str]:
    """Ids of notes and rests whose printed value does not last as long as their duration."""
    wrong: set[str] = set()
    for note in notation.notes():
        kind = note.findtext("type")
        if not kind or note.find("grace") is not None:
            continue
        value = plain_value(kind, len(note.findall("dot")))
        tuplet = tuplet_of(note.find("time-modification"))
        if tuplet:
            value = value * tuplet.normal / tuplet.actual
        if value != F(int(note.findtext("duration") or 0), notation.divisions):
            wrong.add(note.get("id", ""))
    return wrong


def check_values(notation: Notation) -> None:
    """Every printed value lasts as long as its duration, and no voice is struck while it still sounds."""
    assert not wrong_values(notation)
    for measure in notation.measures:
        at = chord = 0
        ends: dict[str, int] = {}
        for child in measure:
            step = int(child.findtext("duration") or 0)
            if child.tag in {"backup", "forward"}:
                at += step if child.tag == "forward" else -step
                assert at >= 0
            elif child.tag == "note" and child.find("grace") is None:
                voice = child.findtext("voice") or ""
                if child.find("chord") is None:
                    chord = at
                    assert at >= ends.get(voice, 0)
                    at += step
                ends[voice] = chord + step


def check_beams(notation: Notation) -> None:
    """Every beam that begins ends, in its voice, before another of its level begins."""
    opened: set[tuple[str, str]] = set()
    for note in notation.notes():
        voice = note.findtext("voice") or ""
        grace = "g" if note.find("grace") is not None else ""
        for beam in note.findall("beam"):
            key = voice + grace, beam.get("number", "1")
            text = (beam.text or "").strip()
            if text == "begin":
                assert key not in opened
                opened.add(key)
            elif text in {"continue", "end"}:
                assert key in opened
                if text == "end":
                    opened.discard(key)
    assert not opened


def check_pairs(notation: Notation) -> None:
    """Slurs and tuplet signs come in pairs; ids are used once; no tie leads nowhere."""
    ids = [e.get("id") for e in notation.part.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    for name in ("slur", "tuplet"):
        signs = [s.get("type") for s in notation.part.iter(name) if s.get("type") != "continue"]
        assert signs.count("start") == signs.count("stop"), name
    assert not [w for w in read_piece(notation).warnings if "tie" in w.split()]


def odd_bars(notation: Notation) -> int:
    """Bars, the first apart, that are not as long as their time signature says."""
    return sum(bar.length != bar.time.length for bar in read_piece(notation).bars[1:])


def heads(notation: Notation) -> dict[str, tuple[Fraction, Fraction]]:
    """Every head with its place and length in quarters."""
    reader = MeasureReader(notation.divisions, Warnings())
    for index, measure in enumerate(notation.measures):
        reader.read(index, measure)
    return {
        h.id: (reader.quarters(h.onset), reader.quarters(h.duration)) for h in reader.notes.heads
    }
