"""Balance inside one hand: what is counted, and what is none."""

from __future__ import annotations

import pytest

from passagework.spots.balance import HARD, KIND, ORDINARY
from passagework.spots.severity import by_level, severity_by_ratio
from tests.spots.build import context

FIGURE = (
    "R: G5/2 F5/2 | E5/4;"
    "R2: E4/1/2 C4/1/2 E4/1/2 C4/1/2 D4/1/2 B3/1/2 D4/1/2 B3/1/2 | C4/4;"
    "L: C3/2 G2/2 | C3/4"
)


def test_a_figure_under_the_tune() -> None:
    # 4/4 at 120: the bar lasts 2 s; eight notes of the figure, two of them struck with the tune.
    ctx = context(FIGURE, tempo=120)
    (found,) = KIND.find(ctx)
    assert (found.first_bar, found.hand, found.family) == (0, "right", "above")
    assert found.numbers["tune"] == 2
    assert found.numbers["under"] == 8
    assert found.numbers["together"] == 2
    assert found.numbers["rate"] == pytest.approx(4.0)
    assert found.numbers["demand"] == pytest.approx(5.0), "(8 + 2) in 2 s"
    assert found.severity == pytest.approx(
        severity_by_ratio(5.0, by_level(ctx.level, *ORDINARY), by_level(ctx.level, *HARD))
    )
    assert len(found.note_ids) == 10


def test_chords_under_the_tune_count_twice() -> None:
    ctx = context("R: C4+E4+C5/1 D4+F4+D5/1 E4+G4+E5/2; L: C3/4", tempo=120)
    (found,) = KIND.find(ctx)
    # The octave below is a doubling of the tune; the middle notes are what must be kept down.
    assert found.numbers["under"] == 3
    assert found.numbers["together"] == 3
    assert found.numbers["demand"] == pytest.approx(3.0)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: C5/1 D5/1 E5/2; L: C3/1 G3/1 C3/2", id="accompaniment in the other hand"),
        pytest.param("R: C4+C5/1 D4+D5/1 E4+E5/2; L: C3/4", id="octaves"),
        pytest.param("R: C5/1 D5/1 E4+E5/2; L: C3/4", id="one note under the tune"),
    ],
)
def test_what_is_no_matter_of_balance(text: str) -> None:
    assert list(KIND.find(context(text))) == []


def test_words_count_the_notes() -> None:
    ctx = context(FIGURE, tempo=120)
    words = KIND.describe(list(KIND.find(ctx)), ctx)
    assert "two notes of the tune and eight other notes below it" in words.reason
    assert "two of them struck together with it" in words.reason
    assert "outer fingers" in words.goes_wrong
