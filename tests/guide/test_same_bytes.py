"""The same page gives the same bytes, whenever it is printed."""

from __future__ import annotations

import pytest

from passagework.guide.render import render_sheet


@pytest.mark.parametrize("title", ["A piece", ""])
def test_the_pdf_carries_no_time(title: str) -> None:
    pdf = render_sheet({"title": title, "exercises": []})
    assert pdf.startswith(b"%PDF")
    assert b"CreationDate" not in pdf
    assert b"CreateDate" not in pdf
