"""What a piece without a title is called."""

from __future__ import annotations

import pytest

from passagework.score.titles import title_of_file


@pytest.mark.parametrize(
    ("name", "title"),
    [
        ("mozart-sonata-12-2.musicxml", "mozart sonata 12 2"),
        ("an_old_air.mxl", "an old air"),
        ("no.2.mid", "no.2"),
        ("", ""),
        ("x" * 200 + ".xml", "x" * 80),
    ],
)
def test_a_file_names_its_piece(name: str, title: str) -> None:
    assert title_of_file(name) == title
