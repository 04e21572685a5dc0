"""What holds for every score: made up by chance, the demo pieces, and real ones where they are at hand."""

from __future__ import annotations

import random
from collections.abc import Iterable
from fractions import Fraction

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from passagework.exercises.edit.retime import put_stops
from passagework.exercises.edit.scale_values import DOUBLE, HALF, scale_values
from passagework.exercises.edit.take_out import take_out
from passagework.exercises.edit.ties import take_out_ties
from passagework.exercises.edit.transpose import Interval, transpose
from passagework.exercises.edit.unfold import fold, unfold
from passagework.exercises.exercise import DoesNotFitError
from passagework.score import Piece, Reading, read_score
from passagework.score.cut import cut
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.score.piece import Note
from tests.engraving.scores import DEMO, demo, reading, real, texts
from tests.exercises.helpers import check_beams, check_pairs, heads

F = Fraction

PHASES = (Phase.explicit, Phase.reuse, Phase.generate)
"""No shrinking: it edits whole scores over and over, for minutes."""

INTERVALS = [Interval(2, 4), Interval(1, 1), Interval(-2, -3), Interval(3, 5), Interval(-1, -2)]

SAMPLE = ("bach-prelude", "schubert-moment", "schumann-arabeske", "brahms")


def whole(score: Reading) -> Notation:
    """The score without repeats, as exercises have it."""
    return cut(score.notation, 0, len(score.piece.bars) - 1)


def said(notes: Iterable[Note]) -> list[tuple[object, ...]]:
    """What a note says, in an order that does not hang on which of two unisons comes first."""
    return sorted(
        (n.onset, n.midi, n.duration, n.id, n.voice, n.staff, n.pitch.name) for n in notes
    )


def without_warnings(piece: Piece) -> dict[str, object]:
    names = ("bars", "notes", "rests", "clefs", "dynamics", "hairpins", "pedals", "slurs", "words")
    return {name: getattr(piece, name) for name in names}


def check_everything(notation: Notation, chance: random.Random) -> None:
    piece = read_piece(notation)
    assert without_warnings(read_piece(fold(unfold(notation)))) == without_warnings(piece)
    check_muting(notation, piece, "left" if chance.random() < 0.5 else "right")
    check_some_notes_gone(notation, piece, chance)
    check_ties_out(notation, piece)
    check_transposing(notation, piece, chance.choice(INTERVALS))
    check_other_values(notation, piece)
    check_stop(notation, piece, chance)


def check_muting(notation: Notation, piece: Piece, side: str) -> None:
    gone = {i for n in piece.notes if n.hand == side for i in n.ids}
    left = [n for n in piece.notes if n.hand != side]
    for leave in ("space", "rest"):
        work = take_out(notation, gone, leave)  # type: ignore[arg-type]
        again = read_score(work.to_bytes()).piece if left else read_piece(work)
        kept = {n.id for n in again.notes}
        assert said(again.notes) == said(n for n in left if n.id in kept)
        # only grace notes that lean on the other hand may go with it
        assert all(n.grace for n in left if n.id not in kept)
        assert [b.length for b in again.bars] == [b.length for b in piece.bars]


def check_some_notes_gone(notation: Notation, piece: Piece, chance: random.Random) -> None:
    gone = {n.id for n in piece.notes if chance.random() < 0.4}
    work = take_out(notation, gone, "rest" if chance.random() < 0.5 else "space")
    before, after = heads(notation), heads(work)
    graces = {i for n in piece.notes if n.grace for i in n.ids}
    assert set(after) <= set(before) - gone
    assert set(before) - gone - set(after) <= graces
    assert all(after[i] == before[i] for i in after)
    check_pairs(work)


def check_ties_out(notation: Notation, piece: Piece) -> None:
    work = take_out_ties(notation)
    assert heads(work) == heads(notation)
    assert not any(n.tied_ids for n in read_piece(work).notes)
    longer = read_piece(take_out_ties(notation, how="lengthen"))
    assert [b.length for b in longer.bars] == [b.length for b in piece.bars]
    held = sorted((n.onset, n.midi, n.duration) for n in longer.notes)
    assert held == sorted((n.onset, n.midi, n.duration) for n in piece.notes)


def check_transposing(notation: Notation, piece: Piece, interval: Interval) -> None:
    try:
        work = transpose(notation, interval)
        back = read_piece(transpose(work, interval.reversed()))
    except DoesNotFitError:
        return
    there = read_piece(work)
    assert [n.midi for n in there.notes] == [n.midi + interval.semitones for n in piece.notes]
    assert [n.ids for n in there.notes] == [n.ids for n in piece.notes]
    assert [n.midi for n in back.notes] == [n.midi for n in piece.notes]
    expected = {b.fifths + interval.fifths for b in piece.bars}
    if {b.fifths for b in there.bars} == expected and max(map(abs, expected)) <= 4:
        plain = [n for n in piece.notes if abs(n.pitch.alter) < 2]
        same = {n.id: n.pitch for n in back.notes}
        moved = {n.id: n.pitch for n in there.notes}
        assert all(same[n.id] == n.pitch for n in plain if abs(moved[n.id].alter) < 2)


def check_other_values(notation: Notation, piece: Piece) -> None:
    before = heads(notation)
    for factor in (HALF, DOUBLE):
        try:
            work = scale_values(notation, factor)
        except DoesNotFitError:
            continue
        again = read_score(work.to_bytes()).piece
        # heads, not notes: how far a tie may lead over a gap is counted in quarters
        assert heads(work) == {i: (at * factor, n * factor) for i, (at, n) in before.items()}
        assert [b.length for b in again.bars] == [b.length * factor for b in piece.bars]
        assert [b.time.length for b in again.bars] == [b.time.length * factor for b in piece.bars]
        check_pairs(work)


def check_stop(notation: Notation, piece: Piece, chance: random.Random) -> None:
    places = sorted({n.onset for n in piece.notes if not n.grace and n.onset})
    if not places:
        return
    at = chance.choice(places)
    bar = piece.bar_at(at)
    stop = chance.choice([bar.time.length, bar.time.beat, bar.time.beat / 2])
    try:
        work = put_stops(notation, {at: stop})
    except DoesNotFitError:
        return
    before, after = heads(notation), heads(work)
    line = at == bar.onset
    for name, (onset, length) in before.items():
        place, lasts = after[name]
        assert place == onset + (stop if onset >= at and (line or onset >= bar.onset) else 0)
        if not onset < at < onset + length:
            assert lasts == length
    ends = read_piece(work)
    assert ends.end == piece.end + stop
    check_pairs(work)


@settings(max_examples=25, deadline=None, phases=PHASES)
@given(texts(), st.integers(0, 1000))
def test_any_music(text: str, seed: int) -> None:
    check_everything(whole(reading(text)), random.Random(seed))


@pytest.mark.parametrize("name", [f.stem for f in DEMO])
def test_demo_pieces(name: str) -> None:
    sampled(demo(name), 4)


@pytest.mark.parametrize("name", SAMPLE)
def test_real_scores(name: str) -> None:
    sampled(real(name), 4)


def sampled(score: Reading, times: int) -> None:
    chance = random.Random(len(score.piece.notes))
    last = len(score.piece.bars) - 1
    for _ in range(times):
        first = chance.randint(0, last)
        check_everything(
            cut(score.notation, first, min(last, first + chance.randint(0, 2))), chance
        )


@settings(max_examples=20, deadline=None, phases=PHASES)
@given(texts())
def test_beams_and_tuplets_are_whole(text: str) -> None:
    score = reading(text)
    notes = [n.id for n in score.piece.notes]
    for gone in (notes[::2], notes[1::3], notes[:1]):
        work = take_out(whole(score), gone)
        check_beams(work)
        check_pairs(work)
