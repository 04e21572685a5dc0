"""Names of textures on bars whose writing is known."""

from __future__ import annotations

import pytest

from passagework.analysis.texture import find_texture
from tests.analysis.altered import augmented, demo, real, revoiced, transposed
from tests.spots.build import piece


@pytest.mark.parametrize(
    ("right", "left", "expected"),
    [
        ("C5/1 D5/1 E5/1 F5/1", "r/4", ("single line", "rest")),
        ("C5/4", "C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2", ("single line", "Alberti")),
        ("C5/4", "C3/1/2 E3/1/2 G3/1/2 C4/1/2 E3/1/2 G3/1/2 C4/1/2 E4/1/2", ("single line", "arpeggio")),
        ("C5/4", "G3/1/2 C3/1/2 G3/1/2 E3/1/2 G3/1/2 C3/1/2 G3/1/2 E3/1/2", ("single line", "broken")),
        ("C5/4", "C3/1 E3+G3/1 C3/1 E3+G3/1", ("single line", "broken")),
        ("C5/4", "C3+E3+G3/1 C3+E3+G3/1 C3+E3+G3/1 B2+D3+G3/1", ("single line", "block")),
        ("C4+E4+G4/1 D4+F4+A4/1 E4+G4+B4/1 F4+A4+C5/1", "C3/4", ("chordal", "single line")),
        ("C4/1 D4/1 E4/1 F4/1", "C3/1 D3/1 E3/1 F3/1", ("unison", "unison")),
        ("r/4", "C3/4", ("rest", "single line")),
    ],
)  # fmt: skip
def test_one_bar(right: str, left: str, expected: tuple[str, str]) -> None:
    found = find_texture(piece(f"R: {right}; L: {left}"))
    assert [(t.bar, t.hand) for t in found] == [(0, "right"), (0, "left")]
    assert tuple(t.texture for t in found) == expected


def test_held_notes_over_moving_ones_are_polyphonic() -> None:
    found = find_texture(piece("R: C5/4; R2: E4/1 F4/1 G4/1 F4/1; L: C3/4"))
    assert found[0].texture == "polyphonic"
    assert found[0].held == 0.75, "under three of the four attacks C5 is held on"
    assert found[1].texture == "single line"


def test_a_note_held_over_the_bar_line_counts_in_the_next_bar() -> None:
    found = find_texture(piece("R: C5/4~ | C5/4; R2: r/4 | E4/1 F4/1 G4/1 F4/1; L: r/4 | r/4"))
    assert found[2].bar == 1
    assert found[2].held == 1.0
    assert found[2].texture == "polyphonic"


def test_numbers_that_decide() -> None:
    found = find_texture(piece("R: C4/1 G4/1 E4/1 G4/1; L: C3+E3/2 D3/2"))
    assert (found[0].attacks, found[0].alberti, found[0].different) == (4, 1.0, 3)
    assert (found[1].attacks, found[1].chords) == (2, 0.5)


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter", "evening-ferry"])
def test_other_writings_of_a_demo_piece(name: str) -> None:
    check(demo(name))


@pytest.mark.parametrize("name", ["chopin-etude-25-1", "schumann-kreisleriana-2"])
def test_other_writings_of_a_real_piece(name: str) -> None:
    check(real(name))


def check(original) -> None:  # type: ignore[no-untyped-def]
    expected = find_texture(original)
    assert len(expected) == 2 * len(original.bars)
    assert find_texture(transposed(original, 2, 3)) == expected
    assert find_texture(augmented(original)) == expected
    assert find_texture(revoiced(original, 3)) == expected
