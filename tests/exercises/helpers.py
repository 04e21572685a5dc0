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


def check_values(notation: Notation) -> None:
    """Every printed value lasts as long as its duration; no voice is struck while it still sounds; and
    nothing reaches beyond its bar.
    """
    divisions = notation.divisions
    for measure in notation.measures:
        at = furthest = chord = 0
        ends: dict[str, int] = {}
        for child in measure:
            step = int(child.findtext("duration") or 0)
            if child.tag == "backup":
                at -= step
                assert at >= 0
            elif child.tag == "forward":
                at += step
            elif child.tag == "note" and child.find("grace") is None:
                voice = child.findtext("voice") or ""
                if child.find("chord") is None:
                    chord = at
                    assert at >= ends.get(voice, 0)
                    at += step
                ends[voice] = chord + step
                kind = child.findtext("type")
                if kind:
                    value = plain_value(kind, len(child.findall("dot")))
                    tuplet = tuplet_of(child.find("time-modification"))
                    if tuplet:
                        value = value * tuplet.normal / tuplet.actual
                    assert value == F(step, divisions), (measure.get("number"), child.get("id"))
            furthest = max(furthest, at)
        assert max(ends.values(), default=0) <= furthest


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


def lengths_said(notation: Notation) -> None:
    """Every bar but a pickup is as long as its time signature says."""
    for bar in read_piece(notation).bars[1:]:
        assert bar.length == bar.time.length, bar


def heads(notation: Notation) -> dict[str, tuple[Fraction, Fraction]]:
    """Every head with its place and length in quarters."""
    reader = MeasureReader(notation.divisions, Warnings())
    for index, measure in enumerate(notation.measures):
        reader.read(index, measure)
    return {
        h.id: (reader.quarters(h.onset), reader.quarters(h.duration)) for h in reader.notes.heads
    }
