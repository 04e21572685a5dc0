"""Where a spot stands, in words."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

from passagework.guide.page import where


@pytest.mark.parametrize(
    ("places", "words"), [(1, "3 bars in one place"), (2, "3 bars in 2 places")]
)
def test_one_place_is_not_1_places(places: int, words: str) -> None:
    long = SimpleNamespace(bar_names=lambda bars: "bar " + "x" * 80 if len(bars) > 1 else "bar 1")
    spot = SimpleNamespace(
        bars=(0, 1, 2), places=(None,) * places, hand="left",
        focus=SimpleNamespace(first_bar=0, last_bar=0),
    )  # fmt: skip
    said = where(cast(Any, SimpleNamespace(context=long)), cast(Any, spot))
    assert said == f"{words}, from bar 1, worst in bar 1 · left hand"
