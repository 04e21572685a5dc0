"""The table of kinds in the documentation names every kind, and how many of it are listed."""

from __future__ import annotations

import re
from pathlib import Path

from passagework.spots.table import all_kinds

PAGE = Path(__file__).parents[2] / "docs" / "spots.md"


def test_every_kind_is_in_the_table() -> None:
    rows = re.findall(
        r"^\| `([a-z-]+)` \|.*\| (\d) \|$", PAGE.read_text(encoding="utf-8"), re.MULTILINE
    )
    assert rows == [(kind.name, str(kind.most)) for kind in all_kinds()]
