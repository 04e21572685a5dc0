"""What there is to practise and how long it takes, worked out by hand."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest

from passagework.teaching.items import (
    Limits,
    effort,
    items_of,
    layer_minutes,
    piece_effort,
    spot_minutes,
    steps_beyond,
)
from passagework.teaching.settings import LAYERS, Settings
from passagework.teaching.work import Asked, PieceWork, PlanSection
from tests.teaching.make_work import exercise, piece, spot

PLAIN = Settings(step=0.1)


@pytest.mark.parametrize(
    ("steps", "factor"),
    [(-5, 0.5), (-2, 0.5), (-1, 0.75), (0, 1), (1, 1.5), (2, 2), (3, 2.5), (9, 2.5)],
)
def test_effort(steps: float, factor: float) -> None:
    assert effort(steps, PLAIN) == pytest.approx(factor)


def test_steps_beyond_what_is_secure() -> None:
    assert steps_beyond(0.5, 0.3, PLAIN) == pytest.approx(2)
    assert steps_beyond(0.3, 0.5, PLAIN) == pytest.approx(-2)
    assert steps_beyond(0.5, None, PLAIN) == 1.0
    assert steps_beyond(0.05, None, PLAIN) == pytest.approx(0.5)


def test_the_minutes_of_a_spot() -> None:
    # Severity 0.5: practice begins at 0.6 of the tempo, on average it is played at the root of that. Three steps of eight
    # times four seconds, half as long again to think, at the effort of what is just secure.
    row = spot("s", (1,), 0.5, demand=0.5, exercises=(exercise("blocks", 1, 1, 3),))
    expected = 3 * 8 * 4.0 * 1.5 / sqrt(0.6) / 60
    assert spot_minutes(row, 0.5, PLAIN) == pytest.approx(expected)
    assert spot_minutes(row, 0.4, PLAIN) == pytest.approx(1.5 * expected)
    # Four places: twice a quarter more. No exercise known: four steps.
    assert spot_minutes(replace(row, places=4), 0.5, PLAIN) == pytest.approx(1.5 * expected)
    assert spot_minutes(replace(row, exercises=()), 0.5, PLAIN) == pytest.approx(4 / 3 * expected)


def test_the_minutes_of_a_layer() -> None:
    section = PlanSection("A", "bars 1 to 8", 0, 7, 20.0)
    hands = LAYERS[0]
    # Eight times twenty seconds at half the tempo, half as long again to think.
    assert layer_minutes(section, hands, 1.0, PLAIN) == pytest.approx(8 * 40 * 1.5 / 60)
    known = replace(section, likeness=1.0)
    assert layer_minutes(known, hands, 1.0, PLAIN) == pytest.approx(0.3 * 8 * 40 * 1.5 / 60)


def test_the_effort_of_a_piece_goes_by_the_bars_of_its_kinds() -> None:
    asked = {"leap": Asked(0.5, 0.3), "stretch": Asked(0.3, 0.1)}
    # Leaps are two steps beyond (effort 2), stretches two below (effort a half).
    assert piece_effort(asked, {"leap": 0.3, "stretch": 0.5}, PLAIN) == pytest.approx(
        (0.3 * 2 + 0.1 * 0.5) / 0.4
    )
    assert piece_effort({}, {}, PLAIN) == 1.0


def test_reviews_go_by_severity_and_skill() -> None:
    work = piece(spots=(spot("easy", (1,), 0.0), spot("hard", (2,), 1.0, demand=0.9)))
    easy, hard = items_of(work, {"leap": 0.9}, PLAIN, Limits(3, 10))[:2]
    assert (easy.reviews, hard.reviews) == (2, 6)
    assert items_of(work, {"leap": 1.0}, PLAIN, Limits(3, 10))[1].reviews == 5  # 2 + 0.75 of 4


def test_layers_follow_each_other_and_tempo_waits_for_the_spots() -> None:
    rows = {i.id: i for i in items_of(piece(), {}, PLAIN, Limits(3, 10))}
    assert rows["p1/section/1/hands"].after == ()
    assert rows["p1/section/1/together"].after == ("p1/section/1/hands",)
    assert rows["p1/section/1/tempo"].after == ("p1/section/1/together", "p1/spot/s1")
    assert rows["p1/section/0/tempo"].after == ("p1/section/0/together", "p1/spot/s2")
    # The section with the hardest spot first, the one without any last.
    order = sorted((i for i in rows.values() if i.layer == "hands"), key=lambda i: i.order)
    assert [i.of for i in order] == ["1", "0", "2"]


def test_a_piece_with_the_book_has_no_memory_layer() -> None:
    rows = items_of(piece(by_heart=False), {}, PLAIN, Limits(3, 10))
    assert {i.layer for i in rows if i.what == "section"} == {
        "hands",
        "together",
        "tempo",
        "polish",
    }
    polish = next(i for i in rows if i.layer == "polish")
    assert polish.after[0].endswith("/tempo")


@pytest.mark.parametrize("seconds", [0.0, -1.0])
def test_no_music_takes_no_time(seconds: float) -> None:
    with pytest.raises(ValueError, match="more than no time"):
        PieceWork("p", "Piece", seconds, (), ())


def test_two_spots_of_one_name_are_refused() -> None:
    with pytest.raises(ValueError, match="one id"):
        PieceWork("p", "Piece", 1.0, (), (spot("s", (1,), 0.5), spot("s", (2,), 0.5)))
