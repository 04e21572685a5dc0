"""A cut stands alone and says the same as the piece did in those bars."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from passagework.score import Reading
from passagework.score.cut import cut
from passagework.score.measures import MeasureReader
from passagework.score.musicxml import read_piece
from passagework.score.warnings import Warnings
from tests.engraving.scores import DEMO, demo, reading, real, texts

F = Fraction


def notes_of_bars(reading: Reading, first: int, last: int) -> set[tuple[object, ...]]:
    """What the piece sounds in those bars: its heads there, from the first one's start to the last one's end.

    (A tie may lead over a gap, so a note is not simply clipped at the edge.)
    """
    piece = reading.piece
    start = piece.bars[first].onset
    walk = MeasureReader(reading.notation.divisions, Warnings())
    for index, measure in enumerate(reading.notation.measures):
        walk.read(index, measure)
    heads = {head.id: head for head in walk.notes.heads}
    rows: set[tuple[object, ...]] = set()
    for note in piece.notes:
        ids = tuple(i for i in note.ids if first <= heads[i].bar <= last)
        if ids:
            rows.add(
                (
                    ids,
                    walk.quarters(heads[ids[0]].onset) - start,
                    None if note.grace else walk.quarters(heads[ids[-1]].end) - start,
                    note.midi,
                    note.written_octave_shift if ids[0] == note.id else None,
                )
            )
    return rows


def notes_of_cut(original: Reading, first: int, last: int) -> set[tuple[object, ...]]:
    piece = read_piece(cut(original.notation, first, last))
    whole = {n.id for n in original.piece.notes}
    return {
        (
            n.ids,
            n.onset,
            None if n.grace else n.end,
            n.midi,
            n.written_octave_shift if n.id in whole else None,
        )
        for n in piece.notes
    }


def leads_over_a_gap(reading: Reading, ids: tuple[str, ...]) -> bool:
    lengths = {
        n.get("id"): F(int(n.findtext("duration") or 0), reading.notation.divisions)
        for n in reading.notation.notes()
    }
    return sum((lengths[i] for i in ids), F(0)) != reading.piece.by_id[ids[0]].duration


def test_signs_across_the_edges() -> None:
    score = reading(
        "R: @key-3 @8va C6/2 @< E6/2~!( | E6/2 G6/2 | @clefF C4/4!) | D4/2 @. @8. E4/2;"
        "L: @& C3/4 | D3/4 | E3/4 | @* F3/4"
    )
    notation = cut(score.notation, 1, 2)
    piece = read_piece(notation)
    assert [b.number for b in piece.bars] == ["2", "3"]
    assert piece.bars[0].fifths == -3
    assert [(c.sign, c.onset) for c in piece.clefs if c.staff == 1] == [("G", F(0)), ("F", F(4))]
    assert [(c.sign, c.onset) for c in piece.clefs if c.staff == 2] == [("F", F(0))]
    assert [(h.onset, h.end, h.kind) for h in piece.hairpins] == [(F(0), F(8), "crescendo")]
    assert [(p.onset, p.end) for p in piece.pedals] == [(F(0), F(8))]
    assert [(s.onset, s.end, s.octaves) for s in piece.octave_shifts] == [(F(0), F(8), 1)]
    # the tie into E6 is gone, the slur begins with the first note of its voice
    assert not list(notation.root.iter("tie"))
    assert not list(notation.root.iter("tied"))
    assert [(s.onset, s.end) for s in piece.slurs] == [(F(0), F(8))]
    assert piece.warnings == ()
    assert notation.root.findtext("part/measure/attributes/divisions") is not None


def test_a_half_slur_of_one_note_is_dropped() -> None:
    score = reading("R: C5/4!( | D5/4!); L: C3/4 | C3/4")
    assert not list(cut(score.notation, 0, 0).root.iter("slur"))
    assert not list(cut(score.notation, 1, 1).root.iter("slur"))


def test_a_slur_that_never_ended_stays_out() -> None:
    score = reading("R: C5/1!( D5/3 | E5/4 | F5/4; L: C3/4 | C3/4 | C3/4")
    assert not list(cut(score.notation, 0, 1).root.iter("slur"))


def test_repeats_and_jumps_do_not_send_the_player_out() -> None:
    score = reading("R: C5/4 | D5/4 | E5/4; L: C3/4 | C3/4 | C3/4")
    from lxml import etree

    measure = score.notation.measures[1]
    measure.append(
        etree.fromstring(
            '<barline location="right"><bar-style>light-heavy</bar-style><repeat direction="backward"/></barline>'
        )
    )
    measure.append(
        etree.fromstring(
            '<direction id="dx"><direction-type><words>D.C. al Fine</words></direction-type>'
            '<sound dacapo="yes"/></direction>'
        )
    )
    part = read_piece(cut(score.notation, 1, 2))
    assert part.playing_order == (0, 1)
    assert part.words == ()
    assert not list(cut(score.notation, 1, 2).root.iter("repeat"))


@pytest.mark.parametrize("bars", [(-1, 0), (1, 0), (0, 99)])
def test_bars_that_are_not_there(bars: tuple[int, int]) -> None:
    score = reading("R: C5/4 | D5/4; L: C3/4 | C3/4")
    with pytest.raises(ValueError, match="there are no bars"):
        cut(score.notation, *bars)


@settings(max_examples=60, deadline=None)
@given(texts(), st.data())
def test_a_cut_sounds_as_the_piece(text: str, data: st.DataObject) -> None:
    score = reading(text)
    # a tie over a gap may find another partner among fewer notes; those of real scores are below
    assume(not any(leads_over_a_gap(score, note.ids) for note in score.piece.notes))
    before = score.notation.to_bytes()
    last = len(score.piece.bars) - 1
    first = data.draw(st.integers(0, last))
    until = data.draw(st.integers(first, last))
    assert notes_of_cut(score, first, until) == notes_of_bars(score, first, until)
    assert score.notation.to_bytes() == before
    part = read_piece(cut(score.notation, first, until))
    assert part.bars[0].fifths == score.piece.bars[first].fifths
    assert part.playing_order == tuple(range(until - first + 1))


@settings(max_examples=20, deadline=None)
@given(texts())
def test_cutting_everything_changes_nothing(text: str) -> None:
    score = reading(text)
    whole = cut(score.notation, 0, len(score.piece.bars) - 1)
    again = read_piece(whole)
    assert again.notes == score.piece.notes
    assert again.hairpins == score.piece.hairpins


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_demo_pieces(name: str) -> None:
    check(demo(name), 8)


@pytest.mark.parametrize("name", ["schumann-arabeske", "brahms", "mozart", "chopin-berceuse"])
def test_real_scores(name: str) -> None:
    check(real(name), 10)


def check(score: Reading, times: int) -> None:
    chance = random.Random(7)
    last = len(score.piece.bars) - 1
    for _ in range(times):
        first = chance.randint(0, last)
        until = min(last, first + chance.choice([0, 1, 3, 8]))
        assert notes_of_cut(score, first, until) == notes_of_bars(score, first, until)
        part = read_piece(cut(score.notation, first, until))
        assert part.bars[0].time == score.piece.bars[first].time
        start = score.piece.bars[first].onset
        for staff in (1, 2):
            in_force = [c for c in score.piece.clefs if c.staff == staff and c.onset <= start]
            written = [c for c in part.clefs if c.staff == staff and c.onset == 0]
            if in_force:
                assert (written[-1].sign, written[-1].line) == (
                    in_force[-1].sign,
                    in_force[-1].line,
                )
