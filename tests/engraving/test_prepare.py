"""What the engraver is given: nothing hidden, nothing twice, and curves that lead where they should."""

from __future__ import annotations

from lxml import etree

from passagework.engraving.prepare import prepare
from passagework.engraving.render import render_notation
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from tests.engraving.scores import demo, reading


def prepared(text: str) -> Notation:
    notation = reading(text).notation.copy()
    prepare(notation.root)
    return notation


def test_hidden_notes_become_room() -> None:
    notation = prepared("R: C5/1 D5/1!hidden E5+G5/1!hidden F5/1; L: C3/4")
    shown = [n.findtext("pitch/step") for n in notation.notes()]
    assert shown == ["C", "F", "C"]
    piece = read_piece(notation)
    assert [str(n.onset) for n in piece.notes if n.staff == 1] == ["0", "3"]


def test_slurs_get_numbers_of_their_own() -> None:
    # two voices use the number 1 at the same time, as files do
    notation = prepared("R: C5/2!( D5/2!); R2: A4/1!( B4/3!); L: C3/4")
    numbers: dict[str, set[str]] = {}
    for note in notation.notes():
        for slur in note.iter("slur"):
            numbers.setdefault(slur.get("number", ""), set()).add(note.findtext("voice") or "")
    assert len(numbers) == 2
    assert all(len(voices) == 1 for voices in numbers.values())


def test_lonely_ends_are_dropped() -> None:
    notation = prepared("R: C5/2!) D5/2!( ; L: C3/4~ | r/4")
    assert not list(notation.root.iter("slur"))
    assert not list(notation.root.iter("tied"))


def test_ties_that_touch_are_kept() -> None:
    notation = prepared("R: C5+E5/4~ | C5+E5/4; L: C3/4 | C3/4")
    assert len(list(notation.root.iter("tied"))) == 4


def test_a_tie_over_a_gap_is_a_curve() -> None:
    notation = prepared("R: C5/1~ r/1 C5/2; L: C3/4")
    assert not list(notation.root.iter("tied"))
    assert [s.get("type") for s in notation.root.iter("slur")] == ["start", "stop"]


def test_a_sign_said_twice_is_drawn_once() -> None:
    once = render_notation(reading("R: @f C5/4; L: C3/4").notation)
    twice = render_notation(reading("R: @f @f @f C5/4; L: C3/4").notation)
    assert twice[0].height_mm == once[0].height_mm
    assert len(list(prepared("R: @f C5/2 @f D5/2; L: C3/4").root.iter("dynamics"))) == 2


def test_titles_and_breaks_are_taken_off_the_page() -> None:
    notation = demo("ferry").notation.copy()
    prepare(notation.root)
    assert not list(notation.root.iter("print", "credit", "work", "identification"))
    assert etree.tostring(notation.root)


def test_the_line_of_a_trill_needs_a_printed_end() -> None:
    def with_line(hidden: str) -> int:
        notation = reading(f"R: C5/2!trill-mark D5/1{hidden} E5/1; L: C3/4").notation.copy()
        notes = list(notation.notes())
        for note, kind in ((notes[0], "start"), (notes[1], "stop")):
            found = note.find("notations")
            notations = found if found is not None else etree.SubElement(note, "notations")
            ornaments = notations.find("ornaments")
            if ornaments is None:
                ornaments = etree.SubElement(notations, "ornaments")
            etree.SubElement(ornaments, "wavy-line", {"type": kind, "number": "1"})
        prepare(notation.root)
        assert len(list(notation.root.iter("trill-mark"))) == 1
        return len(list(notation.root.iter("wavy-line")))

    assert with_line("") == 2
    assert with_line("!hidden") == 0
