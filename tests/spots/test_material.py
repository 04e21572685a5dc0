"""Material that comes back, at the same pitch and on other steps."""

from __future__ import annotations

from passagework.spots.find import find_spots
from passagework.spots.material import bar_prints, gather
from passagework.spots.spot import Candidate
from passagework.spots.words_of import other_places
from tests.spots.build import context

FIGURE = "C5/1/2 E5/1/2 D5/1/2 F5/1/2 E5/1/2 G5/1/2 F5/1/2 D5/1/2"
HIGHER = "F5/1/2 A5/1/2 G5/1/2 B5/1/2 A5/1/2 C6/1/2 B5/1/2 G5/1/2"
"""A fourth higher, on the white keys."""


def one(bar: int, severity: float = 0.5) -> tuple[Candidate]:
    return (Candidate(bar, bar, "right", (f"n{bar}",), severity),)


def test_a_figure_on_another_step_is_the_same_material() -> None:
    ctx = context(f"R: {FIGURE} | C5/4 | {HIGHER} | {FIGURE}; L: C3/4 | C3/4 | C3/4 | C3/4")
    prints = bar_prints(ctx.piece)
    places = [one(0), one(2), one(3)]
    (row,) = gather(places, prints, moves=True)
    assert [[c.shift for c in place] for place in row] == [[0], [3], [0]]
    assert [len(r) for r in gather(places, prints, moves=False)] == [2, 1]
    words = other_places([c for place in row for c in place], ctx)
    assert words == " Likewise in bar 4, and a fourth higher in bar 3."


def test_words_count_from_the_place_they_describe() -> None:
    ctx = context(f"R: {FIGURE} | C5/4 | {HIGHER} | {FIGURE}; L: C3/4 | C3/4 | C3/4 | C3/4")
    (row,) = gather([one(0), one(2), one(3)], bar_prints(ctx.piece), moves=True)
    worst = [row[1][0], row[0][0], row[2][0]]
    assert other_places(worst, ctx) == " Likewise a fourth lower in bars 1 and 4."


def test_two_plain_chords_are_not_one_material() -> None:
    ctx = context("R: C5+E5/4 | D5+F5/4; L: C3/4 | D3/4")
    assert len(gather([one(0), one(1)], bar_prints(ctx.piece), moves=True)) == 2


def test_the_same_steps_with_other_accidentals_are_not_the_same() -> None:
    minor = FIGURE.replace("E5", "Eb5")
    ctx = context(f"R: {FIGURE} | {minor}; L: C3/4 | C3/4")
    assert len(gather([one(0), one(1)], bar_prints(ctx.piece), moves=True)) == 2


def test_moved_octaves_become_one_spot() -> None:
    octaves = "C3+C4/1/2 D3+D4/1/2 E3+E4/1/2 F3+F4/1/2 G3+G4/2"
    higher = "F3+F4/1/2 G3+G4/1/2 A3+A4/1/2 B3+B4/1/2 C4+C5/2"
    text = f"R: C5/4 | D5/4 | E5/4 | F5/4; L: {octaves} | C3/4 | G2/4 | {higher}"
    found = [s for s in find_spots(context(text, tempo=120)) if s.kind == "octaves"]
    assert [[p.first_bar for p in s.places] for s in found] == [[0, 3]]
    assert (
        "a fourth higher in bar 4" in found[0].wording.reason
        or "a fourth lower in bar 1" in found[0].wording.reason
    )
