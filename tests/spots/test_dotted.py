"""Dotted rhythms."""

from __future__ import annotations

import pytest

from passagework.spots.dotted import KIND, UNHEARD
from tests.spots.build import context


@pytest.mark.parametrize(
    ("text", "family", "short_s"),
    [
        # At 60 a crotchet lasts a second.
        pytest.param("R: C5/3/2 D5/1/2 E5/2; L: C3/4", "dotted", 0.5, id="dotted crotchet"),
        pytest.param("R: C5/3/4 D5/1/4 E5/1 F5/2; L: C3/4", "dotted", 0.25, id="dotted quaver"),
        pytest.param("R: C5/7/4 D5/1/4 E5/2; L: C3/4", "dotted", 0.25, id="doubly dotted"),
        pytest.param("R: C5/1/4 D5/3/4 E5/1 F5/2; L: C3/4", "snap", 0.25, id="short before long"),
        pytest.param("R: r/2 C5/3/2 D5/1/2 | E5/4; L: C3/4 | C3/4", "dotted", 0.5, id="over the bar line"),
        pytest.param("R: C5/3/2 D5/1/2 r/2; L: C3/4", "dotted", 0.5, id="a rest after it"),
    ],
)  # fmt: skip
def test_figures(text: str, family: str, short_s: float) -> None:
    ctx = context(text, tempo=60)
    (found,) = KIND.find(ctx)
    assert found.family == family
    assert found.numbers["short_s"] == pytest.approx(short_s)
    assert found.hand == "right"
    assert found.note_ids == tuple(n.id for n in ctx.piece.notes if n.hand == "right")[:2]


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: C5/1 D5/1/2 E5/1/2 F5/2; L: C3/4", id="two to one"),
        pytest.param("R: C5/3 D5/1; L: C3/4", id="counted in beats"),
        pytest.param("R: C5/1/2 r/1 D5/1/2 E5/2; L: C3/4", id="a rest between"),
        pytest.param("R: r/1/4 C5/3/4 r/1 E5/2; L: C3/4", id="one note"),
        pytest.param("R: C5/2/3 D5/1/3 E5/1 F5/2; L: C3/4", id="a triplet"),
    ],
)  # fmt: skip
def test_not_dotted(text: str) -> None:
    assert [c.family for c in KIND.find(context(text, tempo=60)) if c.family == "dotted"] == []


def test_a_siciliano_is_dotted_in_its_own_beat() -> None:
    # 6/8 at crotchet = 90: a semiquaver lasts a sixth of a second.
    text = "R: C5/3/4 D5/1/4 E5/1/2 C5/3/4 D5/1/4 E5/1/2; L: C3/3"
    (found,) = KIND.find(context(text, time="6/8", tempo=90))
    assert found.numbers["count"] == 2
    assert found.numbers["short_s"] == pytest.approx(1 / 6)


def test_the_beat_that_somebody_strikes_is_a_help() -> None:
    alone = "R: C5/3/2 D5/1/2 E5/2; L: C3/4"
    led = "R: C5/3/2 D5/1/2 E5/2; L: C3/1 C3/1 C3/2"
    (one,), (two,) = (list(KIND.find(context(t, tempo=60))) for t in (alone, led))
    assert one.numbers["unheard"] == 1
    assert two.numbers["unheard"] == 0
    assert one.severity > two.severity
    assert UNHEARD > 1


def test_quicker_is_harder_and_the_words_name_values_and_notes() -> None:
    text = "R: C5/3/4 D5/1/4 E5/1 F5/2; L: C3/4"
    severities = [next(iter(KIND.find(context(text, tempo=t)))).severity for t in (60, 80, 120)]
    assert severities == sorted(severities)
    assert len(set(severities)) == 3
    ctx = context(text, tempo=60)
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert "a dotted quaver and then a semiquaver" in words.reason
    assert "D5 lasts 0.25 seconds" in words.reason
