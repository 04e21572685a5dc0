"""Each edit against answers worked out by hand."""

from __future__ import annotations

from fractions import Fraction

import pytest

from passagework.exercises.edit.blocks import gather
from passagework.exercises.edit.part import between
from passagework.exercises.edit.retime import Knot, Warp, hold, put_stops
from passagework.exercises.edit.rhythm import (
    LONG_AND_THREE,
    LONG_AND_TWO,
    LONG_SHORT,
    SHORT_LONG,
    change_rhythm,
)
from passagework.exercises.edit.scale_values import DOUBLE, HALF, scale_values
from passagework.exercises.edit.staves import only_staff
from passagework.exercises.edit.take_out import keep_only, take_out, take_out_voices
from passagework.exercises.edit.tempo_mark import with_tempo, without_tempo
from passagework.exercises.edit.ties import take_out_ties
from passagework.exercises.edit.transpose import Interval, transpose
from passagework.exercises.exercise import DoesNotFitError
from passagework.score import Reading
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from tests.engraving.scores import reading
from tests.exercises.helpers import check_beams, check_pairs, check_values, heads, read

F = Fraction


def ids(score: Reading) -> list[str]:
    return [n.id for n in score.piece.notes]


def rests(notation: Notation) -> list[tuple[Fraction, Fraction, int, bool]]:
    return [(r.onset, r.duration, r.staff, r.printed) for r in read_piece(notation).rests]


def types(notation: Notation) -> list[str]:
    return [
        (n.findtext("type") or "") + "." * len(n.findall("dot"))
        for n in notation.notes()
        if n.find("rest") is None
    ]


def beams(notation: Notation) -> list[str]:
    return [" ".join(b.text or "" for b in n.findall("beam")) for n in notation.notes()]


def of_right(score: Reading) -> list[str]:
    return [n.id for n in score.piece.notes if n.hand == "right"]


def test_a_note_of_a_chord_goes_and_the_next_one_leads() -> None:
    score = reading("R: C5+E5+G5/1!arp!( D5/1!) C5/2; L: C3/4")
    low = next(n.id for n in score.piece.notes if str(n.pitch) == "C5" and n.onset == 0)
    work = take_out(score.notation, [low])
    piece = read(work)
    assert [str(n.pitch) for n in piece.notes if n.onset == 0] == ["C3", "E5", "G5"]
    assert len(piece.slurs) == 1
    assert sum(1 for _ in work.root.iter("arpeggiate")) == 2
    one = take_out(work, [n.id for n in piece.notes if str(n.pitch) == "E5"])
    assert not list(one.root.iter("arpeggiate"))  # a single note is not arpeggiated
    assert not list(one.root.iter("chord"))


def test_space_and_rest() -> None:
    score = reading("R: C5/1 D5/1 E5/2; L: C3/4")
    gone = [n.id for n in score.piece.notes if n.onset in {1, 2} and n.hand == "right"]
    assert rests(take_out(score.notation, gone)) == []
    assert rests(take_out(score.notation, gone, "rest")) == [
        (F(1), F(1), 1, True),
        (F(2), F(2), 1, True),
    ]


def test_rests_are_divided_as_the_metre_wants() -> None:
    score = reading("R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/2 A5/1/2; L: C3/3", time="6/8")
    right = [n.id for n in score.piece.notes if n.hand == "right"]
    found = rests(take_out(score.notation, right[1:], "rest"))
    assert found == [
        (F(1, 2), F(1, 2), 1, True),
        (F(1), F(1, 2), 1, True),
        (F(3, 2), F(3, 2), 1, True),
    ]


def test_an_emptied_hand_rests_for_the_bar() -> None:
    score = reading("R: C5/1 D5/1 E5/2 | C5/4; L: C3/4 | D3/4")
    right = [n.id for n in score.piece.notes if n.hand == "right"]
    work = take_out(score.notation, right, "rest")
    assert rests(work) == [(F(0), F(4), 1, True), (F(4), F(4), 1, True)]
    assert [r.get("measure") for r in work.root.iter("rest")] == ["yes", "yes"]
    assert [n.id for n in read(work).notes] == [n.id for n in score.piece.notes if n.hand == "left"]


def test_what_leaned_on_a_note_goes_with_it() -> None:
    score = reading("R: g:B4/1/2 C5/2 g:D5/1/2 E5/2; L: C3/4")
    gone = next(n.id for n in score.piece.notes if str(n.pitch) == "C5")
    left = [str(n.pitch) for n in read(take_out(score.notation, [gone])).notes]
    assert left == ["C3", "D5", "E5"]


def test_slurs_move_to_what_is_left() -> None:
    score = reading("R: C5/1!( D5/1 E5/1 F5/1!); L: C3/4")
    row = of_right(score)
    piece = read(take_out(score.notation, [row[0], row[3]]))
    assert [(s.first, s.last) for s in piece.slurs] == [(row[1], row[2])]
    assert read(take_out(score.notation, row[1:])).slurs == ()


def test_ties_to_what_went_are_cut() -> None:
    score = reading("R: C5/4~ | C5/4~ | C5/4; L: C3/4 | C3/4 | C3/4")
    note = next(n for n in score.piece.notes if n.tied_ids)
    piece = read(take_out(score.notation, [note.ids[1]]))
    assert [(n.id, n.duration) for n in piece.notes if n.hand == "right"] == [
        (note.ids[0], F(4)),
        (note.ids[2], F(4)),
    ]


def test_the_accidental_of_a_note_that_went_is_given_to_the_next() -> None:
    score = reading("R: F#5/1!acc-sharp F#5/1 F5/1!acc-natural G5/1; L: C3/4")
    work = take_out(score.notation, [of_right(score)[0]])
    assert [(n.findtext("accidental")) for n in work.notes()][:2] == ["sharp", "natural"]


def test_part_of_a_triplet_keeps_its_place_and_number() -> None:
    score = reading("R: C5/1/3 D5/1/3 E5/1/3 F5/3; L: C3/4")
    row = of_right(score)
    work = take_out(score.notation, [row[1]])
    assert rests(work) == [(F(1, 3), F(1, 3), 1, False)]
    assert heads(work)[row[2]] == (F(2, 3), F(1, 3))
    signs = [s.get("type") for s in work.root.iter("tuplet")]
    assert signs == ["start", "stop"]


def test_a_voice_alone() -> None:
    score = reading("R: C5/2 D5/2; R2: E4/1 F4/1 G4/2; L: C3/4")
    work = take_out_voices(score.notation, ["2"])
    assert [str(n.pitch) for n in read(work).notes] == ["C3", "C5", "D5"]
    assert str(read(keep_only(score.notation, of_right(score))).notes[0].pitch) == "E4"


def test_beams_follow_the_beats() -> None:
    score = reading(
        "R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/4 A5/1/4 B5/1/4 C6/1/4 D6/3/4 E6/1/4; L: C3/4"
    )
    row = of_right(score)
    work = take_out(score.notation, [row[1]])
    assert beams(work)[:9] == [
        "",
        "begin",
        "end",
        "begin begin",
        "continue continue",
        "continue continue",
        "end end",
        "begin",
        "end backward hook",
    ]


def test_compound_beats() -> None:
    score = reading("R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/2 A5/1/2; L: C3/3", time="6/8")
    work = take_out(score.notation, ["none"])
    assert beams(work)[:6] == [""] * 6  # what is not touched is not set anew
    again = change_rhythm(score.notation, [tuple(F(k, 2) for k in range(4))], LONG_AND_TWO)
    assert types(again)[:3] == ["quarter", "16th", "16th"]
    assert beams(again)[:6] == ["", "begin begin", "end end", "begin", "continue", "end"]


@pytest.mark.parametrize(
    ("pattern", "places", "printed"),
    [
        (LONG_SHORT, [F(0), F(3, 8), F(1, 2), F(7, 8)], ["16th.", "32nd", "16th.", "32nd"]),
        (SHORT_LONG, [F(0), F(1, 8), F(1, 2), F(5, 8)], ["32nd", "16th.", "32nd", "16th."]),
        (LONG_AND_THREE, [F(0), F(1, 2), F(2, 3), F(5, 6)], ["eighth", "16th", "16th", "16th"]),
    ],
)
def test_rhythms_keep_the_beat(pattern: object, places: list[Fraction], printed: list[str]) -> None:
    score = reading("R: C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/3; L: C3/1/2 D3/1/2 C3/3")
    group = tuple(F(k, 4) for k in range(5))
    work = change_rhythm(score.notation, [group], pattern)  # type: ignore[arg-type]
    row = [heads(work)[i][0] for i in of_right(score)]
    assert row == [*places, F(1)]
    assert types(work)[:4] == printed
    assert read_piece(work).bars[0].length == 4
    check_values(work)
    check_beams(work)
    check_pairs(work)


def test_a_group_that_is_no_pattern() -> None:
    score = reading("R: C5/1 D5/1 E5/1 F5/1; L: C3/4")
    with pytest.raises(DoesNotFitError):
        change_rhythm(score.notation, [(F(0), F(1), F(2), F(3))], LONG_SHORT)
    with pytest.raises(DoesNotFitError):
        change_rhythm(score.notation, [(F(0), F(1), F(3))], LONG_SHORT)


def test_a_note_held_for_a_beat_more() -> None:
    score = reading("R: C5/1/4 D5/1/4 E5/1/4 F5/1/4 G5/1/4 A5/1/4 B5/1/4 C6/1/4 D6/2; L: C3/4")
    row = of_right(score)
    work = hold(score.notation, {F(1): F(5, 4)}, F(5, 4))
    piece = read(work)
    assert piece.bars[0].length == 5
    assert str(piece.bars[0].time) == "5/4"
    assert {n.id: (n.onset, n.duration) for n in piece.notes}[row[4]] == (F(1), F(5, 4))
    assert piece.by_id[row[5]].onset == F(9, 4)
    assert next(n for n in piece.notes if n.hand == "left").duration == 5
    check_values(work)
    check_beams(work)


def test_a_stop_inside_a_bar_and_at_a_bar_line() -> None:
    score = reading("R: C5/1 D5/1 E5/2 | F5/4; L: C3/4 | D3/4")
    inside = read(put_stops(score.notation, {F(1): F(1)}))
    assert [b.length for b in inside.bars] == [5, 4]
    assert [str(b.time) for b in inside.bars] == ["5/4", "4/4"]
    assert [(r.onset, r.duration, r.staff) for r in inside.rests] == [(F(1), F(1), 1)]
    assert next(n for n in inside.notes if n.hand == "left").duration == 5
    at_line = read(put_stops(score.notation, {F(4): F(2)}))
    assert [(b.length, str(b.time)) for b in at_line.bars] == [(4, "4/4"), (2, "2/4"), (4, "4/4")]
    assert [(r.onset, r.duration, r.staff) for r in at_line.rests] == [
        (F(4), F(2), 1),
        (F(4), F(2), 2),
    ]
    assert [n.onset for n in at_line.notes if n.bar == 2] == [6, 6]


def test_a_tie_over_a_stop_at_the_bar_line() -> None:
    score = reading("R: C5/4~ | C5/4; L: C3/4 | D3/4")
    work = put_stops(score.notation, {F(4): F(1)})
    check_pairs(work)
    right = [n for n in read(work).notes if n.hand == "right"]
    assert [(n.onset, n.end) for n in right] == [(F(0), F(4)), (F(5), F(9))]  # struck again


def test_knots_rise() -> None:
    with pytest.raises(ValueError, match="rise"):
        Warp((Knot(F(1), F(1), F(1)), Knot(F(1), F(2), F(2))))


def test_ties_out() -> None:
    score = reading("R: C5/2 D#5/2~ | D#5/1 E5/3; L: C3/4 | C3/4")
    note = next(n for n in score.piece.notes if n.tied_ids)
    work = take_out_ties(score.notation, [note.id])
    piece = read(work)
    assert [n.id for n in piece.notes if n.midi == 75] == list(note.ids)
    second = next(n for n in work.notes() if n.get("id") == note.ids[1])
    assert second.findtext("accidental") == "sharp"  # a tie needed none, a new note does


def test_ties_lengthened_where_one_value_says_it() -> None:
    score = reading("R: C5/2~ C5/1 D5/1~ | D5/4; L: C3/4 | C3/4")
    work = take_out_ties(score.notation, how="lengthen")
    assert types(work)[:2] == ["half.", "quarter"]
    assert [(n.onset, n.duration) for n in read(work).notes if n.hand == "right"] == [
        (F(0), F(3)),
        (F(3), F(5)),
    ]


def test_a_broken_chord_gathered() -> None:
    score = reading("R: C4/1/4 E4/1/4 G4/1/4 E4/1/4 F4/3; L: C3/4")
    row = of_right(score)
    work = gather(score.notation, [row[:4]])
    piece = read(work)
    chord = [n for n in piece.notes if n.hand == "right" and n.onset == 0]
    assert [(n.id, n.duration) for n in chord] == [(i, F(1)) for i in row[:3]]
    assert types(work)[:3] == ["quarter"] * 3
    check_values(work)


@pytest.mark.parametrize(
    ("interval", "names", "fifths"),
    [
        (Interval(2, 4), ["E5", "G#5", "A#5"], 4),
        (Interval(1, 1), ["Db5", "F5", "G5"], -5),
        (Interval(-2, -3), ["A4", "C#5", "D#5"], 3),
        (Interval(0, 1), ["Db5", "F5", "G5"], -5),
    ],
)
def test_transposed(interval: Interval, names: list[str], fifths: int) -> None:
    score = reading("R: C5/1 E5/1 F#5/2!acc-sharp; L: r/4")
    work = transpose(score.notation, interval)
    piece = read(work)
    if interval == Interval(0, 1):  # C sharp major has seven sharps and can be written
        assert piece.bars[0].fifths == 7
        return
    assert [str(n.pitch) for n in piece.notes] == names
    assert piece.bars[0].fifths == fifths
    shown = [n.findtext("accidental") or "" for n in work.notes()][:3]
    assert shown == ["", "", {4: "sharp", -5: "natural", 3: "sharp"}[fifths]]


def test_more_than_seven_signs_are_not_written() -> None:
    score = reading("R: E5/4; L: E3/4", fifths=4)
    piece = read(transpose(score.notation, Interval(1, 1)))
    assert (piece.bars[0].fifths, str(piece.notes[-1].pitch)) == (-1, "F5")
    sharp = read(transpose(score.notation, Interval(0, 1)))
    assert sharp.bars[0].fifths == -1
    assert str(sharp.notes[-1].pitch) == "F5"


@pytest.mark.parametrize(("factor", "time"), [(HALF, "4/8"), (DOUBLE, "4/2")])
def test_other_values(factor: Fraction, time: str) -> None:
    score = reading("R: C5/1/2 D5/1/2 E5/1/3 F5/1/3 G5/1/3 A5/2; L: C3/4")
    work = scale_values(score.notation, factor)
    piece = read(work)
    assert str(piece.bars[0].time) == time
    assert [n.onset for n in piece.notes] == [n.onset * factor for n in score.piece.notes]
    assert piece.metronomes[0].quarters_per_minute == 100 * factor
    check_values(work)
    check_beams(work)
    with pytest.raises(ValueError, match="halved or doubled"):
        scale_values(score.notation, F(3))


def test_one_staff() -> None:
    score = reading("R: r/4; L: @clefG C4/2 @p D4/2")
    piece = read(only_staff(score.notation, "2"))
    assert piece.staves == 1
    assert {n.staff for n in piece.notes} == {1}
    assert [d.text for d in piece.dynamics] == ["p"]
    assert [c.sign for c in piece.clefs][-1] == "G"
    both = reading("R: C5/4; L: C3/4")
    with pytest.raises(ValueError, match="other staff"):
        only_staff(both.notation, "2")


def test_a_part_lands_on_its_last_beat() -> None:
    score = reading("R: C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/2 | A5/4; L: C3/2 D3/2 | E3/4")
    work = between(score.notation, F(0), F(1))
    piece = read(work)
    assert len(piece.bars) == 1
    assert [(str(n.pitch), n.onset, n.duration) for n in piece.notes if n.hand == "right"] == [
        ("C5", F(0), F(1, 2)),
        ("D5", F(1, 2), F(1, 2)),
        ("E5", F(1), F(1)),
    ]
    assert (F(2), F(2), 1, True) in rests(work)


def test_tempo_marks() -> None:
    score = reading("R: C5/4; L: C3/4")
    assert read(without_tempo(score.notation)).metronomes == ()
    slow = read(with_tempo(score.notation, F(3, 2), 40.0))
    assert [(m.beat, m.per_minute) for m in slow.metronomes] == [(F(3, 2), 40.0)]


def test_the_original_is_left_alone() -> None:
    score = reading("R: C5/2~ C5/1 D5/1~ | D5/4; L: C3/4 | C3/4")
    before = score.notation.to_bytes()
    row = of_right(score)
    take_out(score.notation, row, "rest")
    put_stops(score.notation, {F(1): F(1), F(4): F(1)})
    take_out_ties(score.notation)
    transpose(score.notation, Interval(1, 2))
    scale_values(score.notation, HALF)
    gather(score.notation, [row])
    without_tempo(score.notation)
    assert score.notation.to_bytes() == before
