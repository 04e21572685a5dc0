"""Sudden changes of loudness, and the signs they are read from."""

from __future__ import annotations

import pytest

from passagework.spots.loudness_signs import LEVELS, parse_sign
from passagework.spots.sudden_dynamics import CRESCENDO, KIND
from tests.spots.build import context


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("p", (3, False)), ("mf", (5, False)), ("ff", (7, False)), ("fp", (3, True)), ("sfp", (3, True)),
        ("sfpp", (2, True)), ("sf", (None, True)), ("sfz", (None, True)), ("rf", (None, True)),
        ("\ue522\ue520", (3, True)), ("\ue52b", (2, False)), ("dolce", None), ("cresc.", None), ("n", (0, False)),
    ],
)  # fmt: skip
def test_signs(text: str, expected: tuple[int | None, bool] | None) -> None:
    assert parse_sign(text) == expected


def test_forte_then_piano_at_once() -> None:
    # 120: half a second from the last f note to the first p note.
    text = "R: @f C5/1 D5/1 E5/1 F5/1 | @p G5/4; L: C3/4 | C3/4"
    (found,) = KIND.find(context(text, tempo=120))
    assert found.family == "softer"
    assert found.numbers["levels"] == LEVELS["f"] - LEVELS["p"] == 3
    assert found.numbers["gap"] == pytest.approx(0.5)
    assert (found.first_bar, found.last_bar) == (0, 1)
    assert len(found.note_ids) == 3  # F5, then G5 with C3


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(
            "R: @f @> C5/1 D5/1 E5/1 F5/1 @. | @p G5/4; L: C3/4 | C3/4", id="a hairpin leads"
        ),
        pytest.param('R: @f C5/1 @"dim." D5/1 E5/2 | @p G5/4; L: C3/4 | C3/4', id="a word leads"),
        pytest.param("R: @p C5/1 @< D5/1 E5/1 F5/1 @. | @f G5/4; L: C3/4 | C3/4", id="a crescendo"),
        pytest.param("R: @mp C5/4 | @p G5/4; L: C3/4 | C3/4", id="one level"),
        pytest.param("R: @p C5/4 | @p G5/4; L: C3/4 | C3/4", id="the same again"),
        pytest.param("R: C5/4 | @p G5/4; L: C3/4 | C3/4", id="nothing before"),
        pytest.param('R: @f C5/4 | @"più_p" G5/4; L: C3/4 | C3/4', id="a comparison is no level"),
        pytest.param("R: @f C5/2 @sf D5/2 | E5/4; L: C3/4 | C3/4", id="an accent among loud notes"),
    ],
)
def test_not_sudden(text: str) -> None:
    assert list(KIND.find(context(text))) == []


def test_one_level_with_subito() -> None:
    text = 'R: @mp C5/4 | @p @"subito" G5/4; L: C3/4 | C3/4'
    (found,) = KIND.find(context(text))
    assert found.numbers["levels"] == 1
    assert found.facts["subito"] == "yes"


def test_a_crescendo_that_breaks_off() -> None:
    text = "R: @p C5/1 @< D5/1 E5/1 F5/1 @. | @p G5/4; L: C3/4 | C3/4"
    ctx = context(text)
    (found,) = KIND.find(ctx)
    assert found.numbers["levels"] == CRESCENDO
    assert "not printed" in KIND.describe([found], ctx).reason


def test_fortepiano_is_a_drop_after_its_attack() -> None:
    # 120: the quaver after the fp chord comes after a quarter of a second.
    (found,) = KIND.find(context("R: @fp C5/0.5 D5/0.5 E5/3; L: C3/4", tempo=120))
    assert found.family == "accent"
    assert found.numbers["levels"] == 3
    assert found.numbers["gap"] == pytest.approx(0.25)


def test_less_time_and_softer_are_harder() -> None:
    quick = "R: @f C5/1 D5/1 E5/1 F5/1 | @p G5/4; L: C3/4 | C3/4"
    slow = "R: @f C5/1 r/3 | @p G5/4; L: C3/1 r/3 | C3/4"
    loud = "R: @p C5/1 D5/1 E5/1 F5/1 | @f G5/4; L: C3/4 | C3/4"
    one, two, three = (next(iter(KIND.find(context(t)))) for t in (quick, slow, loud))
    assert one.severity > two.severity
    assert one.severity > three.severity
    assert three.family == "louder"


def test_a_sign_for_the_left_hand_alone_is_not_a_change() -> None:
    text = "R: @f C5/4 | C5/4 | @f C5/4 | @f C5/4; L: C3/4 | @p C3/4 | C3/4 | C3/4"
    assert list(KIND.find(context(text))) == []


def test_an_ornament_played_out_by_the_file_is_no_attack() -> None:
    text = "R: @f C5/2 D5/2; R2: r/3 E5/1!hidden | r/4; L: C3/4"
    text = text.replace("D5/2;", "D5/2 | @p G5/4;").replace("L: C3/4", "L: C3/4 | C3/4")
    (found,) = KIND.find(context(text, tempo=60))
    assert found.numbers["gap"] == pytest.approx(2.0)


def test_signs_doubled_at_both_staves_are_one_row() -> None:
    # The left hand alone is loud in bar 4: its sign does not make the next one sudden.
    text = (
        "R: @p C5/4 | @f C5/4 | @p C5/4 | C5/4 | @p C5/4; "
        "L: @p C3/4 | @f C3/4 | @p C3/4 | @f C3/4 | @p C3/4"
    )
    found = list(KIND.find(context(text)))
    assert [(c.family, c.last_bar) for c in found] == [("louder", 1), ("softer", 2)]
