"""The order of levels from their names."""

from __future__ import annotations

import pytest

from passagework.demands.labels import order_labels


@pytest.mark.parametrize(
    ("labels", "expected", "sure"),
    [
        (["10", "2", "1", "2"], ("1", "2", "10"), True),
        (["2,5", "2", "3.0"], ("2", "2,5", "3.0"), True),
        (["Grade 10", "Grade 2", "grade 2", "Grade 1"], ("Grade 1", "Grade 2", "Grade 10"), True),
        (["IV", "V", "IX", "I"], ("I", "IV", "V", "IX"), True),
        (["hard", "Easy", "medium"], ("Easy", "medium", "hard"), True),
        (["advanced", "late intermediate", "beginner", "elementary", "intermediate"],
         ("beginner", "elementary", "intermediate", "late intermediate", "advanced"), True),
        (["difficult", "very difficult", "easy", "very easy"],
         ("very easy", "easy", "difficult", "very difficult"), True),
        (["schwer", "leicht", "mittelschwer"], ("leicht", "mittelschwer", "schwer"), True),
        (["C", "A", "B"], ("A", "B", "C"), True),
        (["red", "blue"], ("blue", "red"), False),
        (["Book 2", "Album 1"], ("Album 1", "Book 2"), False),
    ],
)  # fmt: skip
def test_order(labels: list[str], expected: tuple[str, ...], sure: bool) -> None:
    found = order_labels(labels)
    assert found.levels == expected
    assert found.sure is sure


def test_a_given_order_wins() -> None:
    found = order_labels(["red", "Blue"], ["red", "green", "blue"])
    assert found.levels == ("red", "Blue")
    assert found.index("BLUE ") == 1
    with pytest.raises(KeyError):
        found.index("green")


def test_a_given_order_must_hold_every_level() -> None:
    with pytest.raises(ValueError, match="'red' is not in the order"):
        order_labels(["red", "blue"], ["blue", "green"])
    with pytest.raises(ValueError, match="twice"):
        order_labels(["red"], ["red", "Red"])
