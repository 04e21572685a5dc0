"""Files as they are typed: the music in them is read all the same."""

from __future__ import annotations

from fractions import Fraction

import pytest

from passagework.score import Piece, read_score
from tests.score.small import SMALL_SCORES, attributes, backup, note, score


def read(text: str | bytes) -> Piece:
    return read_score(text if isinstance(text, bytes) else text.encode(), "a.musicxml").piece


def places(piece: Piece) -> list[tuple[Fraction, Fraction, str]]:
    return [(n.onset, n.duration, str(n.pitch)) for n in piece.notes]


def test_missing_voices_and_types_change_nothing() -> None:
    typed = read(SMALL_SCORES["two hands"])
    bare = SMALL_SCORES["two hands"]
    for tag in ("voice", "type"):
        for text in ("1", "5", "quarter", "half", "whole"):
            bare = bare.replace(f"<{tag}>{text}</{tag}>", "")
    assert places(read(bare)) == places(typed)
    assert [n.hand for n in read(bare).notes] == [n.hand for n in typed.notes]


def test_a_whole_rest_stands_for_a_bar_of_any_length() -> None:
    piece = read(score(attributes(time="3/4") + note("r", 16, kind="whole"), note("C4", 12)))
    assert [bar.length for bar in piece.bars] == [3, 3]
    assert piece.notes[0].onset == 3


def test_durations_that_do_not_fill_the_bar_give_way_to_the_printed_values() -> None:
    wrong = score(attributes(time="2/4") + note("C4", 1) + note("D4", 1))
    assert places(read(wrong)) == [(0, 1, "C4"), (1, 1, "D4")]


def test_rounded_tuplets_are_made_exact() -> None:
    seventh = (
        "<time-modification><actual-notes>7</actual-notes><normal-notes>4</normal-notes>"
        "</time-modification>"
    )
    ticks = (69, 68, 69, 68, 69, 68, 69)
    body = "".join(note("C4", t, kind="16th", after=seventh) for t in ticks)
    piece = read(score(attributes(480, "1/4") + body))
    assert [n.onset for n in piece.notes] == [Fraction(k, 7) for k in range(7)]
    assert piece.bars[0].length == 1


def test_ties_typed_at_one_end_and_ties_over_a_gap() -> None:
    start = '<notations><tied type="start"/></notations>'
    stop = '<notations><tied type="stop"/></notations>'
    one_end = read(score(attributes() + note("C4", 16, end=start), note("C4", 16)))
    assert places(one_end) == [(0, 8, "C4")]
    gap = read(
        score(
            attributes()
            + note("C4", 4, end=start)
            + note("E4", 4)
            + note("C4", 8, kind="half", end=stop)
        )
    )
    assert places(gap) == [(0, 4, "C4"), (1, 1, "E4")]
    lost = read(score(attributes() + note("C4", 16, end=start), note("D4", 16)))
    assert any("tie leads nowhere" in warning for warning in lost.warnings)


def test_a_pickup_need_not_be_marked() -> None:
    piece = read(score(attributes(time="3/4") + note("C4", 4), note("D4", 12), numbers=["X1", "1"]))
    assert piece.bars[0].pickup
    assert [bar.length for bar in piece.bars] == [1, 3]


def test_two_parts_are_two_hands() -> None:
    piece = read(SMALL_SCORES["two parts"])
    assert [(n.midi, n.staff, n.hand, n.duration) for n in piece.notes] == [
        (48, 2, "left", 4),
        (72, 1, "right", 4),
    ]


def test_one_transposed_part_leaves_the_other_where_it_is() -> None:
    text = SMALL_SCORES["two parts"].replace(
        "<staves>1</staves>",
        "<staves>1</staves><transpose><chromatic>0</chromatic><octave-change>-1</octave-change>"
        "</transpose>",
        1,
    )
    assert sorted(n.midi for n in read(text).notes) == [48, 60]


@pytest.mark.parametrize("code", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_encodings(code: str) -> None:
    text = score(attributes() + note("C4", 16, kind="whole"), name="Clavecín")
    text = text.replace("<part-list>", "<movement-title>Été</movement-title><part-list>")
    text = text.replace("UTF-8", {"latin-1": "ISO-8859-1"}.get(code, code.upper()[:6]))
    if code == "utf-8-sig":
        text = text.replace("UTF-8-"[:6], "UTF-8")
    assert read(text.encode(code)).title == "Été"


def test_latin_1_that_claims_to_be_utf_8() -> None:
    text = score(attributes() + note("C4", 16)).replace(
        "<part-list>", "<movement-title>Été</movement-title><part-list>"
    )
    assert read(text.encode("latin-1")).title == "Été"


def test_a_namespace_and_timewise() -> None:
    plain = read(SMALL_SCORES["two hands"])
    spaced = SMALL_SCORES["two hands"].replace("<score-partwise", '<score-partwise xmlns="urn:x"')
    assert read(spaced) == plain
    measure = attributes(staves=1) + note("C5", 16, kind="whole")
    timewise = (
        '<score-timewise><part-list><score-part id="P1"><part-name>Piano</part-name></score-part>'
        f'</part-list><measure number="1"><part id="P1">{measure}</part></measure></score-timewise>'
    )
    assert places(read(timewise)) == [(0, 4, "C5")]


def test_a_chord_on_nothing_is_a_note() -> None:
    piece = read(score(attributes() + note("C4", 16, before="<chord/>") + backup(16)))
    assert places(piece) == [(0, 4, "C4")]


def test_grace_notes_need_no_slash_and_no_length() -> None:
    piece = read(
        score(
            attributes()
            + note("D4", None, kind="eighth", before="<grace/>")
            + note("C4", 0, kind="")
            + note("E4", 16, kind="whole")
        )
    )
    assert [(n.grace, str(n.pitch), n.onset) for n in piece.notes] == [
        ("plain", "D4", 0),
        ("plain", "C4", 0),
        ("", "E4", 0),
    ]
