"""One score as one row, with numbers worked out by hand."""

from __future__ import annotations

import hashlib
from collections.abc import Callable

import pytest

from passagework.demands.measure import measure_demands
from passagework.demands.scale import ungraded_score
from passagework.hands.hand import Hand
from passagework.score import Piece, Reading, read_score
from passagework.spots.context import Context
from passagework.survey.columns import columns, names
from passagework.survey.row import both_ends, main_key, measured_row
from tests.conftest import real_scores
from tests.survey.conftest import DEMO

TWO_BARS = """<?xml version="1.0"?>
<score-partwise version="4.0"><work><work-title>Two Bars</work-title></work>
<part-list><score-part id="P1"><part-name/></score-part></part-list><part id="P1">
<measure number="1"><attributes><divisions>1</divisions><key><fifths>1</fifths></key>
<time><beats>3</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>
<direction placement="above"><direction-type><metronome><beat-unit>quarter</beat-unit>
<per-minute>90</per-minute></metronome></direction-type></direction>
<note><pitch><step>G</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>
<note><pitch><step>B</step><octave>4</octave></pitch><duration>1</duration><type>quarter</type></note>
<note><pitch><step>D</step><octave>5</octave></pitch><duration>1</duration><type>quarter</type></note></measure>
<measure number="2"><note><pitch><step>F</step><alter>1</alter><octave>4</octave></pitch>
<duration>1</duration><type>quarter</type></note><note><pitch><step>G</step><octave>4</octave></pitch>
<duration>2</duration><type>half</type></note>
<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline></measure>
</part></score-partwise>"""


def test_what_stands_in_two_bars() -> None:
    data = TWO_BARS.encode()
    row = measured_row(data, "a/two.musicxml", 18.0)
    # Twice two bars of three quarters at 90 a minute: 12 / 90 min = 8 s. F sharp 4 is 66, D5 is 74.
    said = {
        "title": "Two Bars", "key": "G major", "metre": "3/4", "bars": 2, "notes": 5, "seconds": 8.0,
        "lowest": 66, "highest": 74, "size": len(data), "hash": hashlib.sha256(data).hexdigest(),
        "reach_cm": 18.0, "path": "a/two.musicxml",
    }  # fmt: skip
    assert {name: row[name] for name in said} == said
    assert "error" not in row
    assert row["composer"] is None


def test_the_profile_stands_in_its_columns(demo: Callable[[str], Reading]) -> None:
    data = (DEMO / "evening-ferry.musicxml").read_bytes()
    row = measured_row(data, "evening-ferry.musicxml", 17.0)
    demands = measure_demands(Context(demo("evening-ferry").piece, Hand(17.0)), dear=False)
    assert row["kind_same_keys_hardest"] == demands.kinds["same-keys"].hardest
    assert row["kind_leap_per_minute"] == demands.kinds["leap"].per_minute > 0
    assert row["descriptor_travel_busier"] == demands.descriptors["travel_busier"] > 0
    assert row["score"] == round(ungraded_score(demands.descriptors), 2)


def test_every_value_has_its_column_and_every_column_its_meaning() -> None:
    row = measured_row((DEMO / "paper-boat.musicxml").read_bytes(), "paper-boat.musicxml", 20.1)
    assert set(row) <= set(names())
    assert set(names()) - set(row) == {"modified", "error", "error_kind"}
    assert len(set(names())) == len(names())
    assert all(column.meaning for column in columns())


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "empty"),
        (b"\x00\xff" * 100, ""),
        (b"<html/>", "not a score"),
        (b'<!DOCTYPE x [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]><score-partwise>&b;</score-partwise>', ""),
        (b"<score-partwise><part-list/><part id='P1'/></score-partwise>", ""),
        (TWO_BARS.replace("<note>", "<rest>").replace("</note>", "</rest>").encode(), "no note"),
    ],
)  # fmt: skip
def test_a_bad_file_is_a_row_with_one_line(data: bytes, says: str) -> None:
    row = measured_row(data, "bad.musicxml", 20.1)
    assert row["error_kind"] == "unreadable"
    assert says in row["error"]
    assert "\n" not in row["error"]
    assert row["hash"] == hashlib.sha256(data).hexdigest()


def test_a_fault_of_ours_is_called_one(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise ZeroDivisionError("two\nlines")

    monkeypatch.setattr("passagework.survey.row.measure_demands", fail)
    row = measured_row(TWO_BARS.encode(), "two.musicxml", 20.1)
    assert row["error_kind"] == "fault"
    assert "ZeroDivisionError: two lines" in row["error"]


def test_both_ends_are_bars_of_the_piece(demo: Callable[[str], Reading]) -> None:
    piece = demo("evening-ferry").piece
    cut = both_ends(piece, 4)
    assert [b.number for b in cut.bars] == [b.number for b in (*piece.bars[:4], *piece.bars[-4:])]
    assert [b.index for b in cut.bars] == list(range(8))
    assert all(a.end == b.onset for a, b in zip(cut.bars, cut.bars[1:], strict=False))
    assert all(
        cut.bars[n.bar].onset <= n.onset < cut.bars[n.bar].end for n in cut.notes if not n.grace
    )
    assert len(cut.notes) == sum(n.bar < 4 or n.bar >= len(piece.bars) - 4 for n in piece.notes)
    assert both_ends(piece, len(piece.bars)) is piece


def test_the_key_of_both_ends_is_the_key_of_the_whole() -> None:
    from passagework.guide.music import main_key as key_of_all

    scores = real_scores()[:4]
    if not scores:
        pytest.skip("real scores are not here (set PASSAGEWORK_DATA to their folder)")
    for path in scores:
        piece: Piece = read_score(path.read_bytes(), path.name).piece
        assert main_key(piece) == key_of_all(Context(piece))
