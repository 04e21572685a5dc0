"""Humdrum kern and MEI: the notes, the hands and the ids come through."""

from __future__ import annotations

import contextlib
import io
from fractions import Fraction

import pytest

from passagework.score import read_score
from tests.score.promises import check_reading

KERN = """!!!COM: Nobody, Ann
!!!OTL: A small walk
**kern\t**kern\t**dynam
*staff2\t*staff1\t*staff1/2
*clefF4\t*clefG2\t*
*k[b-]\t*k[b-]\t*
*M3/4\t*M3/4\t*
4r\t4cc\tp
=1\t=1\t=1
*\t*^\t*
2.F 2.c\t12ffL\t2.a\tf
.\t12gg\t.\t.
.\t12aaJ\t.\t.
.\t[4ff\t.\t.
.\t4ff]\t.\t.
*\t*v\t*v\t*
=2\t=2\t=2
2.C\tqff\t.
.\t2.ee;\t.
==\t==\t==
*-\t*-\t*-
"""

MEI = """<?xml version="1.0"?><mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="{0}">
<music><body><mdiv><score><scoreDef meter.count="2" meter.unit="4" key.sig="1f"><staffGrp symbol="brace">
<staffDef n="1" lines="5" clef.shape="G" clef.line="2"/><staffDef n="2" lines="5" clef.shape="F" clef.line="4"/>
</staffGrp></scoreDef><section><measure n="1"><staff n="1"><layer n="1"><note xml:id="tune1" pname="c" oct="5"
dur="4"/><note xml:id="tune2" pname="b" accid.ges="f" oct="4" dur="4"/></layer></staff><staff n="2"><layer n="1">
<note xml:id="low" pname="f" oct="3" dur="2"/></layer></staff><fing startid="#tune2">4</fing></measure></section>
</score></mdiv></body></music></mei>"""


def test_kern_spines_are_staves_from_below() -> None:
    reading = read_score(KERN.encode(), "walk.krn")
    check_reading(reading)
    piece = reading.piece
    assert (piece.title, piece.composer) == ("A small walk", "Nobody, Ann")
    assert [bar.length for bar in piece.bars] == [1, 3, 3]
    assert piece.bars[0].pickup
    third = Fraction(1, 3)
    right = [(n.onset, n.duration, n.midi, bool(n.grace)) for n in piece.of_hand("right")]
    assert right == [
        (0, 1, 72, False),
        (1, 3, 69, False),
        (1, third, 77, False),
        (1 + third, third, 79, False),
        (1 + 2 * third, third, 81, False),
        (2, 2, 77, False),
        (4, 0, 77, True),
        (4, 3, 76, False),
    ]
    assert [n.midi for n in piece.of_hand("left")] == [53, 60, 48]
    assert [d.text for d in piece.dynamics] == ["p", "f"]


@pytest.mark.parametrize("version", ["3.0.0", "4.0.1", "5.1", "6.0-dev"])
@pytest.mark.parametrize("code", ["utf-8", "utf-16"])
def test_mei_keeps_ids_and_fingering(version: str, code: str) -> None:
    text = MEI.format(version).replace('"1.0"', f'"1.0" encoding="{code}"', 1)
    reading = read_score(text.encode(code), "a.mei")
    check_reading(reading)
    notes = {n.id: n for n in reading.piece.notes}
    assert set(notes) == {"tune1", "tune2", "low"}
    assert notes["tune2"].midi == 70
    assert notes["tune2"].fingers == (4,)
    assert [notes[i].hand for i in ("tune1", "low")] == ["right", "left"]


def test_the_converters_print_nothing() -> None:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        read_score(KERN.encode(), "walk.krn")
    assert out.getvalue() == err.getvalue() == ""


def test_of_a_book_of_tunes_only_the_first_is_converted(monkeypatch: pytest.MonkeyPatch) -> None:
    head = "%abc-2.1\nM:3/4\n"
    book = head + "".join(f"X:{n}\nT:Tune {n}\nL:1/4\nK:G\nGAB|cBA|G3|]\n\n" for n in range(1, 500))
    # What the converter is handed is measured: it must be the first tune and not the book.
    monkeypatch.setattr("passagework.score.convert.MAX_CONVERTED_BYTES", 100)
    piece = read_score(book.encode(), "book.abc").piece
    assert (piece.title, len(piece.notes), len(piece.bars)) == ("Tune 1", 7, 3)
    assert piece.bars[0].length == 3
    assert any("499 scores" in warning for warning in piece.warnings)
