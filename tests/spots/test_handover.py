"""The tune passing between the hands: which changes are found, and what each number is."""

from __future__ import annotations

import pytest

from passagework.spots.handover import HARD, KIND, ORDINARY
from passagework.spots.severity import by_level, severity_by_ratio
from tests.spots.build import context

TURNS = (
    "R: C5/1 B4/1 A4/1 G4/1 | r/4 | C4/1 D4/1 E4/1 F4/1 | r/4;"
    "L: r/4 | F4/1 E4/1 D4/1 B3/1 | r/4 | E4/1 D4/1 C4/2"
)


def test_every_change_of_hand_is_found() -> None:
    # A quarter at 120 lasts half a second: the next note follows after 0.5 s, without a hole.
    ctx = context(TURNS, tempo=120)
    found = list(KIND.find(ctx))
    assert [(c.first_bar, c.last_bar) for c in found] == [(0, 1), (1, 2), (2, 3)]
    assert [c.facts["to"] for c in found] == ["left", "right", "left"]
    assert [c.numbers["interval"] for c in found] == [-2, 1, -1]
    for candidate in found:
        assert candidate.hand == "both"
        assert candidate.numbers["wait"] == pytest.approx(0.5)
        assert candidate.numbers["hole"] == pytest.approx(0.0)
        assert candidate.numbers["demand"] == pytest.approx(2.0), "one change in half a second"
        assert candidate.severity == pytest.approx(
            severity_by_ratio(2.0, by_level(ctx.level, *ORDINARY), by_level(ctx.level, *HARD))
        )
    assert found[0].facts["before"] == "G4"
    assert found[0].facts["after"] == "F4"
    assert [ctx.piece.by_id[i].midi for i in found[0].note_ids] == [69, 67, 65, 64]


def test_a_hand_that_accompanies_until_it_takes_over_is_busy() -> None:
    text = (
        "R: C5/1 D5/1 E5/1 F5/1 | E5/1 D5/1 C5/2 | r/4 | r/4;"
        "L: C3+G3/1 C3+G3/1 C3+G3/1 C3+G3/1 | C3+G3/1 C3+G3/1 C3+G3/2 | A3/1 G3/1 F3/1 E3/1 | D3/1 E3/1 C3/2"
    )
    (found,) = KIND.find(context(text, tempo=60))
    assert found.numbers["busy"] == 1.0
    assert found.numbers["wait"] == pytest.approx(2.0)
    # From G3, the nearer note of its last chord, to A3: one white key.
    assert found.numbers["travel"] == pytest.approx(23.5, abs=0.5)
    assert found.numbers["demand"] == pytest.approx(0.5 * 1.5 * (1 + 0.5 * 23.5 / 164.5), rel=0.01)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("R: C5/1 D5/1 E5/1 F5/1; L: C3/4", id="tune in one hand"),
        pytest.param("R: C5/1 D5/1 E5/2 | r/4 | r/4 | r/4; L: r/4 | r/4 | r/4 | C3/1 D3/1 E3/2", id="too late"),
    ],
)  # fmt: skip
def test_what_is_no_change_of_hand(text: str) -> None:
    assert list(KIND.find(context(text))) == []


def test_words_name_the_notes_and_the_hands() -> None:
    ctx = context(TURNS, tempo=120)
    found = list(KIND.find(ctx))
    words = KIND.describe(found, ctx)
    assert "G4 in the right hand to F4 in the left" in words.reason
    assert "0.5 seconds" in words.reason
    assert "bars 1 and 2" in words.done_when.lower()
    assert 2 <= len(words.try_) <= 4
