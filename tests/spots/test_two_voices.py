"""Two voices in one hand: what is bound, what moves, and what does not count."""

from __future__ import annotations

import pytest

from passagework.spots.severity import by_level, severity_by_ratio
from passagework.spots.two_voices import HARD, KIND, ORDINARY
from tests.spots.build import context

HELD = "R: C5/4 | C5/4; R2: r/1 E4/1 F4/1 G4/1 | r/4; L: C3/4 | C3/4"


def test_a_held_note_and_three_moving_ones() -> None:
    # 4/4 at 120: the bar lasts 2 s; three attacks while C5 is held, three keys for four free fingers.
    (found,) = KIND.find(context(HELD, tempo=120))
    assert (found.first_bar, found.last_bar, found.hand) == (0, 0, "right")
    assert found.numbers["moving"] == 3
    assert found.numbers["rate"] == pytest.approx(1.5)
    assert found.numbers["bound"] == 1
    assert found.numbers["keys"] == 3
    assert found.numbers["free"] == 4
    assert found.numbers["held_seconds"] == pytest.approx(2.0)
    assert found.facts["where"] == "below"
    assert len(found.note_ids) == 4


def test_severity_is_rate_times_fingers_bound_times_crowding() -> None:
    ctx = context(HELD, tempo=120)
    (found,) = KIND.find(ctx)
    # 1.5 attacks a second, one finger bound (weight 1), 3 keys for 4 fingers (0.75 + 0.25 * 0.75).
    demand = 1.5 * 1.0 * 0.9375
    assert found.numbers["demand"] == pytest.approx(demand)
    expected = severity_by_ratio(demand, by_level(ctx.level, *ORDINARY), by_level(ctx.level, *HARD))
    assert found.severity == pytest.approx(expected)


def test_a_tied_note_is_held_into_the_next_bar() -> None:
    text = "R: C5/4~ | C5/4; R2: r/4 | r/1 E4/1 F4/1 G4/1; L: C3/4 | C3/4"
    (found,) = KIND.find(context(text, tempo=120))
    assert found.first_bar == 1
    assert found.numbers["held_seconds"] == pytest.approx(4.0)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: C5/1 D5/1 E5/1 F5/1; L: C3/4", id="one line in each hand"),
        pytest.param("R: C5+E5/2 D5+F5/2; L: C3+G3/2 C3+G3/2", id="chords"),
        pytest.param(
            "R: C5/1 D5/1 E5/2; R2: E4/1 F4/1 G4/2; L: C3/4", id="two parts in one rhythm"
        ),
        pytest.param("R: C5/4; L: C3/1 D3/1 E3/1 F3/1", id="held in the other hand"),
        pytest.param(
            "R: C6/4; R2: r/1 C4/1 D4/1 E4/1; L: C3/4", id="out of reach of the held note"
        ),
        pytest.param(
            "R: C5/1.25 r/2.75; R2: r/1 E4/1 F4/2; L: C3/4", id="a short overlap of a legato"
        ),
        pytest.param("R: C5/4; R2: r/1 C5/1 C5/1 C5/1; L: C3/4", id="the same key again"),
    ],
)
def test_not_found(text: str) -> None:
    assert list(KIND.find(context(text))) == []


def test_a_larger_hand_can_hold_what_a_small_one_leaves_to_the_pedal() -> None:
    # C4 to D5 is eight white keys, 188 mm: beyond 18 cm, within 22 cm of reach.
    text = "R: D5/4; R2: r/1 C4/1 D4/2; L: C3/4"
    (large,) = KIND.find(context(text, reach=22.0))
    assert large.numbers["moving"] == 2
    assert list(KIND.find(context(text, reach=18.0))) == []


def test_words_name_the_notes_and_the_bar() -> None:
    ctx = context(HELD, tempo=120)
    found = list(KIND.find(ctx))
    words = KIND.describe(found, ctx)
    assert words.title == "Two voices in the right hand"
    assert "bar 1" in words.reason
    assert "C5" in words.reason
    assert "three attacks" in words.reason
    assert "crotchet = 90" in words.done_when
