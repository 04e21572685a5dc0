"""Near repeats: both places make one spot, and the words say where they part."""

from __future__ import annotations

import pytest

from passagework.spots.find import find_spots
from passagework.spots.near_repeats import HARD, KIND, ORDINARY
from passagework.spots.severity import by_level, severity_by_ratio
from tests.spots.build import context

TEXT = (
    "R: C5/1 D5/1 E5/1 C5/1 | F5/1 E5/1 D5/2 | E5/1 F5/1 G5/1 E5/1 | D5/2 C5/2 |"
    " G4/1 A4/1 B4/1 G4/1 | A4/1 F4/1 D4/2 |"
    " C5/1 D5/1 E5/1 C5/1 | F5/1 E5/1 D5/2 | E5/1 F5/1 A5/1 B5/1 | C6/2 C5/2;"
    "L: C3/2 G3/2 | F3/2 G3/2 | C3/2 E3/2 | G3/2 C3/2 | G3/4 | D3/4 |"
    " C3/2 G3/2 | F3/2 G3/2 | C3/2 E3/2 | G3/2 C3/2"
)


def test_both_places_are_found_with_the_notes_that_differ() -> None:
    ctx = context(TEXT)
    earlier, later = KIND.find(ctx)
    assert (earlier.first_bar, earlier.last_bar) == (1, 2)
    assert (later.first_bar, later.last_bar) == (7, 8)
    assert earlier.family == later.family
    assert earlier.facts["here"] == later.facts["there"] == "G5"
    assert earlier.facts["there"] == later.facts["here"] == "A5"
    assert earlier.facts["last"] == "F5"
    # Bars 1 and 2 hold 6 and 5 notes; E5, F5 and C3 follow before the parting.
    assert earlier.numbers["notes"] == 6 + 5 + 3
    # Of the bar's six points E5, F5, C3 and E3 are common, G5, E5, A5, B5 are not: 4 of 8.
    assert earlier.numbers["likeness"] == 0.5
    demand = 14 * 0.75
    assert earlier.severity == pytest.approx(
        severity_by_ratio(demand, by_level(ctx.level, *ORDINARY), by_level(ctx.level, *HARD))
    )


def test_the_two_places_are_one_spot() -> None:
    ctx = context(TEXT)
    candidates = {KIND.name: tuple(KIND.find(ctx))}
    (spot,) = [s for s in find_spots(ctx, candidates) if s.kind == KIND.name]
    assert [(p.first_bar, p.last_bar) for p in spot.places] == [(1, 2), (7, 8)]
    assert spot.wording.title == "Two ways on: bar 3 and bar 9"
    assert "G5 the first time, A5 the second" in spot.wording.reason
    assert "the same for two bars" in spot.wording.reason


def test_no_near_repeat_where_all_is_new() -> None:
    assert list(KIND.find(context("R: C5/1 D5/1 E5/1 F5/1 | G5/1 A5/1 B5/2; L: C3/4 | G3/4"))) == []
