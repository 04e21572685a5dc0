"""The player's own beat, the figures inside it, and what makes a habit."""

from __future__ import annotations

from itertools import pairwise
from statistics import fmean

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.listening.beat import own_beat
from passagework.listening.beat_fit import fit_curve
from passagework.listening.beat_groups import FEWEST
from passagework.listening.breathing import Breathing
from passagework.listening.figures import find_figures
from passagework.listening.habits import habits, heaviest, noise
from passagework.score.piece import Note
from tests.listening.hand_made import heard, steady
from tests.spots.build import context

QUAVERS = "R: " + " | ".join(["C5/1/2 D5/1/2 E5/1/2 F5/1/2 G5/1/2 F5/1/2 E5/1/2 D5/1/2"] * 8)
CROTCHETS = "; L: " + " | ".join(["C3/1 G3/1 E3/1 G3/1"] * 8)
EVEN = QUAVERS + CROTCHETS


def _beat(when):  # type: ignore[no-untyped-def]
    listened = heard(context(EVEN), when)
    beat = listened.beats[0]
    assert beat is not None
    return beat


def test_steady_playing_has_one_tempo_and_no_lateness() -> None:
    beat = _beat(steady(90))
    assert beat.steps == ()
    assert all(tempo == pytest.approx(90, rel=1e-3) for tempo in beat.bar_tempos.values())
    assert max(abs(late) for side in ("left", "right") for _, late in beat.lateness_of(side)) < 1e-3
    assert beat.seconds(8.0) == pytest.approx(1.0 + 8 * 60 / 90, abs=1e-3)


def test_one_late_stroke_is_late_and_does_not_bend_the_beat() -> None:
    def when(note: Note) -> float:
        return steady(90)(note) + (0.12 if note.hand == "right" and note.onset == 14.5 else 0.0)

    late = {g.position: x for g, x in _beat(when).lateness_of("right")}
    assert late[14.5] == pytest.approx(0.12, abs=0.012)
    assert max(abs(x) for at, x in late.items() if at != 14.5) < 0.012


def test_a_pause_is_a_step_and_leaves_the_tempo_alone() -> None:
    beat = _beat(lambda note: steady(90)(note) + (0.8 if note.onset >= 13 else 0.0))
    (step,) = beat.steps
    assert beat.groups[step.index].position == 13.0
    assert step.seconds == pytest.approx(0.8, abs=0.02)
    assert step.beats == pytest.approx(0.8 * 90 / 60, abs=0.04)
    assert all(tempo == pytest.approx(90, rel=0.03) for tempo in beat.bar_tempos.values())
    assert beat.paused(12.5, 13.0) == step.seconds
    assert beat.paused(13.0, 20.0) == 0.0


def test_slowing_down_little_by_little_is_no_pause() -> None:
    # The beat grows from 0.67 s to 1.33 s over the last eight beats: t' = 2/3 (1 + x / 8).
    def when(note: Note) -> float:
        x = float(note.onset)
        over = max(x - 24.0, 0.0)
        return 1.0 + (min(x, 24.0) + over + over**2 / 16.0) * 2.0 / 3.0

    beat = _beat(when)
    assert beat.steps == ()
    assert beat.bar_tempos[0] == pytest.approx(90, rel=0.02)
    assert beat.bar_tempos[7] == pytest.approx(51, rel=0.06)  # mean of t' over the last bar: 1.17 s


@settings(max_examples=25, deadline=None)
@given(
    st.floats(0.3, 4.0),
    st.floats(0.0, 50.0),
    st.lists(st.floats(-0.02, 0.02), min_size=64, max_size=64),
)
def test_a_shift_in_time_shifts_the_beat(slow: float, shift: float, jitter: list[float]) -> None:
    at = iter(range(10_000))
    chance = {n.id: jitter[next(at) % 64] for n in context(EVEN).piece.notes}
    base = _beat(lambda n: steady(100)(n) * slow + chance[n.id] + 0.02)
    moved = _beat(lambda n: steady(100)(n) * slow + chance[n.id] + 0.02 + shift)
    for position in (0.0, 7.25, 16.0, 31.0):
        assert moved.seconds(position) == pytest.approx(base.seconds(position) + shift, abs=1e-4)
    assert [s.index for s in base.steps] == [s.index for s in moved.steps]


def test_too_little_playing_has_no_beat() -> None:
    piece = context(EVEN).piece
    listened = heard(context(EVEN), steady(90))
    few = dict(list(listened.struck[0].items())[: FEWEST - 1])
    assert own_beat(piece, few) is None
    assert own_beat(piece, {}) is None


def test_a_straight_line_is_its_own_curve() -> None:
    places = [0.0, 0.5, 1.25, 3.0, 4.9]
    curve = fit_curve(places, [2 + 0.4 * p for p in places], [1.0] * 5, 6, [0.4] * 6)
    assert curve == pytest.approx([2 + 0.4 * k for k in range(6)], abs=1e-6)


def test_shares_of_a_triplet() -> None:
    # Notes at 0, 40 and 70 per cent of each beat: shares 40, 30, 30.
    music = "R: " + " | ".join(["C5/1/3 D5/1/3 E5/1/3 F5/1/3 E5/1/3 D5/1/3"] * 4)
    places = {0: 0.0, 1: 0.4, 2: 0.7}

    def when(note: Note) -> float:
        beat, part = divmod(note.onset, 1)
        return 1.0 + (int(beat) + places[int(part * 3)]) * 0.6

    found = find_figures(heard(context(music, time="2/4"), when))
    (row,) = found.values()
    assert len(row) == 7  # the last beat has nothing to end it
    for share, expected in zip(
        zip(*(f.shares for f in row), strict=True), (0.4, 0.3, 0.3), strict=True
    ):
        assert fmean(share) == pytest.approx(expected, abs=1e-6)


def test_where_the_music_breathes() -> None:
    text = "R: C5/2 D5/2 | E5/1 F5/1 r/1 G5/1 | C5/4; L: C3/4 | C3/2 r/1 E3/1 | C3/4"
    small = context(text)
    breathing = Breathing(small)
    per = small.piece.ticks_per_quarter
    assert breathing.grade(5 * per, 7 * per, 1) == "free"  # after a rest in both hands


def test_heaviest_subsequences() -> None:
    # Worked by hand: 2 - 1 + 3 is one stretch, the 5 that follows loses it, 4 stands alone.
    assert heaviest([-1, 2, -1, 3, -5, 4]) == [(1, 3), (5, 5)]
    assert heaviest([-1, -2]) == []
    assert heaviest([1, 2, 3]) == [(0, 2)]


@given(st.lists(st.integers(-5, 5), max_size=60))
def test_heaviest_subsequences_hold_the_best_one(scores: list[int]) -> None:
    sums = [sum(scores[i : j + 1]) for i in range(len(scores)) for j in range(i, len(scores))]
    found = heaviest(scores)
    best = max((sum(scores[a : b + 1]) for a, b in found), default=0)
    assert best == max(0, *sums, 0)
    assert all(b < c for (_, b), (c, _) in pairwise(found))


def test_a_habit_must_come_back_to_the_same_side() -> None:
    row = [0.0, 0.01, 0.1, 0.09, 0.11, 0.1, 0.12, 0.0, -0.01, 0.0]
    (stretch,) = habits(row, 0.04, 4, 0.07)
    assert (stretch.first, stretch.last) == (2, 6)
    assert stretch.mean == pytest.approx(0.104)
    assert habits([0.1, -0.1] * 10, 0.04, 4, 0.07) == []
    assert habits([0.0] * 5 + [0.9] + [0.0] * 5, 0.04, 4, 0.07) == []  # one outlier is no habit


def test_noise_is_not_raised_by_a_habit_that_begins() -> None:
    still = [0.01, -0.01] * 10
    assert noise(still) == pytest.approx(0.01)
    assert noise(still + [v + 0.5 for v in still]) < 0.03  # the standard deviation of all is 0.25
    assert noise([1.0]) == 0.0
