"""The assignment printed from a browser is one page too."""

from __future__ import annotations

import io
from pathlib import Path

import pypdfium2
import pytest
from playwright.sync_api import Browser

from passagework.guide.assignment_fit import PaperName
from passagework.guide.assignment_page import assignment_html
from tests.guide.assignments import any_assignment, any_pictures

pytestmark = pytest.mark.browser


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_one_page_from_the_browser(browser: Browser, tmp_path: Path, paper: PaperName) -> None:
    page = browser.new_page()
    for seed in range(8):
        file = tmp_path / f"{seed}.html"
        file.write_bytes(assignment_html(any_assignment(seed), any_pictures(seed), paper))
        page.goto(file.as_uri())
        printed = page.pdf(prefer_css_page_size=True)
        with pypdfium2.PdfDocument(io.BytesIO(printed)) as document:
            assert len(document) == 1, f"week {seed} on {paper}"
    page.close()
