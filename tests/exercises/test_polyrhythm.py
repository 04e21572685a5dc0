"""Polyrhythms sound at exactly their ratios in every step, for every ratio up to seven against eight."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import gcd, lcm

import pytest

from passagework.exercises import counting, polyrhythm
from passagework.exercises.lines_of import find_meeting
from passagework.exercises.passage import Passage, passage_of_bars
from passagework.exercises.study import Study
from passagework.exercises.taps import LEFT_KEY, RIGHT_KEY
from passagework.score.musicxml import read_piece
from passagework.score.notation import Notation
from passagework.spots.context import Context
from tests.engraving.scores import reading
from tests.exercises.helpers import check_beams, check_pairs, check_values

F = Fraction

RATIOS = [(more, fewer) for fewer, more in combinations(range(2, 9), 2) if gcd(more, fewer) == 1]
"""3:2, 5:2 ... 8:7, each in lowest terms."""


def even(count: int, pitch: str) -> str:
    """`count` equal notes in a bar of four crotchets."""
    return " ".join(f"{pitch}/{F(4, count)}" for _ in range(count))


def of(more: int, fewer: int) -> tuple[Passage, Study]:
    """Two bars of the ratio, the larger number in the right hand, then a chord."""
    right, left = even(more, "E5"), even(fewer, "C3")
    score = reading(f"R: {right} | {right} | E5/4; L: {left} | {left} | C3/4", tempo=60.0)
    study = Study(Context(score.piece), score.notation)
    return passage_of_bars(0, 1, study.context), study


def onsets(notation: Notation, key: int | None = None) -> list[Fraction]:
    piece = read_piece(notation)
    return sorted({n.onset for n in piece.notes if key is None or n.midi == key})


@pytest.mark.parametrize(("more", "fewer"), RATIOS)
def test_every_step_has_the_ratio(more: int, fewer: int) -> None:
    passage, study = of(more, fewer)
    meeting = find_meeting(passage, study)
    assert meeting is not None
    assert (meeting.more, meeting.fewer) == (more, fewer)
    quick = [F(4 * k, more) for k in range(2 * more)]
    slow = [F(4 * k, fewer) for k in range(2 * fewer)]
    exercise = polyrhythm.build(passage, study)
    titles = [s.title for s in exercise.steps]
    assert ("The count of" in titles[0]) == (lcm(more, fewer) <= counting.LONGEST_COUNT)
    by_title = {s.title: s.notation for s in exercise.steps}
    tapped = by_title["Tapped"]
    assert onsets(tapped, RIGHT_KEY.midi) == quick
    assert onsets(tapped, LEFT_KEY.midi) == slow
    pulse = (
        [F(0), F(4)]
        if meeting.span == 4
        else [meeting.span * k for k in range(int(8 / meeting.span))]
    )
    right = by_title["Right hand against the pulse"]
    piece = read_piece(right)
    assert [n.onset for n in piece.notes if n.hand == "right"] == quick
    assert [n.onset for n in piece.notes if n.hand == "left"] == pulse
    piece = read_piece(by_title["Left hand against the pulse"])
    assert [n.onset for n in piece.notes if n.hand == "left"] == slow
    assert [n.onset for n in piece.notes if n.hand == "right"] == pulse
    for name in ("Together, slowly", "As written"):
        piece = read_piece(by_title[name])
        assert [n.onset for n in piece.notes if n.hand == "right"] == quick
        assert [n.onset for n in piece.notes if n.hand == "left"] == slow
    for notation in by_title.values():
        check_pairs(notation)
        check_beams(notation)
        check_values(notation)


@pytest.mark.parametrize(("more", "fewer"), RATIOS)
def test_the_counting_line(more: int, fewer: int) -> None:
    if not counting.countable(more, fewer):
        with pytest.raises(counting.DoesNotFitError):
            counting.counting_line(more, fewer, "right")
        return
    piece = read_piece(counting.counting_line(more, fewer, "right", 2))
    bar = piece.bars[0].length
    assert [b.length for b in piece.bars] == [bar, bar] == [b.time.length for b in piece.bars]
    right = sorted(n.onset / bar for n in piece.notes if n.midi == RIGHT_KEY.midi)
    left = sorted(n.onset / bar for n in piece.notes if n.midi == LEFT_KEY.midi)
    assert right == [F(k, more) for k in range(2 * more)]
    assert left == [F(k, fewer) for k in range(2 * fewer)]
    check_values(counting.counting_line(more, fewer, "left"))


def test_the_count_of_three_against_two_is_said_as_teachers_say_it() -> None:
    assert counting.words(3, 2) == ["1", "3", "4", "5"]
    assert counting.words(4, 3) == ["1", "4", "5", "7", "9", "10"]
    assert counting.words(5, 4) == ["1", "", "2", "", "3", "", "4", ""]


def test_the_larger_number_may_lie_in_the_left_hand() -> None:
    left, right = even(3, "C3"), even(2, "E5")
    score = reading(f"R: {right}; L: {left}", tempo=60.0)
    study = Study(Context(score.piece), score.notation)
    exercise = polyrhythm.build(passage_of_bars(0, 0, study.context), study)
    line = exercise.steps[0].notation
    bar = read_piece(line).bars[0].length
    assert [at / bar for at in onsets(line, LEFT_KEY.midi)][:3] == [F(0), F(1, 3), F(2, 3)]
    tapped = next(s for s in exercise.steps if s.title == "Tapped").notation
    assert onsets(tapped, LEFT_KEY.midi) == [F(0), F(4, 3), F(8, 3)]


def test_a_hidden_meeting_stays_hidden_in_the_tapped_rhythm() -> None:
    score = reading(
        "R: E5/2/3 F5/2/3 G5/2/3~ G5/2/3 F5/2/3 E5/2/3 | E5/4; L: C3/1 D3/1 E3/1 F3/1 | C3/4",
        tempo=60.0,
    )
    study = Study(Context(score.piece), score.notation)
    passage = passage_of_bars(0, 0, study.context)
    tapped = next(s for s in polyrhythm.build(passage, study).steps if s.title == "Tapped")
    assert onsets(tapped.notation, RIGHT_KEY.midi) == [F(0), F(2, 3), F(4, 3), F(8, 3), F(10, 3)]


def test_without_a_polyrhythm_there_is_no_exercise() -> None:
    score = reading("R: C5/1 D5/1 E5/1 F5/1; L: C3/2 D3/2")
    study = Study(Context(score.piece), score.notation)
    passage = passage_of_bars(0, 0, study.context)
    assert polyrhythm.applies(passage, study) == 0
    with pytest.raises(counting.DoesNotFitError):
        polyrhythm.build(passage, study)
