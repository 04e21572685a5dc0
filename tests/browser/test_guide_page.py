"""The guide as a teacher opens it: offline, in a browser, on a desk, on a tablet and on paper."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from passagework.guide.preparation import Preparation
from passagework.guide.write import guide_files
from passagework.hands.hand import Hand
from passagework.score import read_score

if TYPE_CHECKING:
    from collections.abc import Iterator

    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def prepared() -> Preparation:
    data = files("passagework.demo").joinpath("evening-ferry.musicxml").read_bytes()
    return Preparation(read_score(data), Hand())


@pytest.fixture(scope="module")
def page(
    browser: Browser, prepared: Preparation, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Page]:
    path: Path = tmp_path_factory.mktemp("guide") / "guide.html"
    path.write_bytes(guide_files(prepared)["guide.html"])
    context = browser.new_context(offline=True, viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("console", lambda message: complaints.append(message.text))
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.on("requestfailed", lambda request: complaints.append(request.url))
    opened.goto(path.as_uri())
    yield opened
    assert complaints == []
    context.close()


@pytest.mark.parametrize("width", [1280, 768])
def test_nothing_runs_out_of_the_page(page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 900})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.set_viewport_size({"width": 1280, "height": 900})


def test_every_place_shows_its_music_and_its_ring(page: Page, prepared: Preparation) -> None:
    for spot in prepared.listed:
        article = page.locator(f"#spot-{spot.rank}")
        assert article.locator("h3").inner_text() == spot.wording.title
        outside = article.evaluate(
            """(node, prefix) => [...node.querySelectorAll('figure svg')].flatMap(svg => {
                const frame = svg.getBoundingClientRect();
                return [...svg.querySelectorAll(`[id^="${prefix}"]`)].filter(note => {
                    const box = note.getBoundingClientRect();
                    return box.width > 0 && (box.left < frame.left - 2 || box.right > frame.right + 2
                        || box.top < frame.top - 2 || box.bottom > frame.bottom + 2);
                }).map(note => note.id);
            })""",
            f"s{spot.rank}-",
        )
        assert outside == [], spot.id
        widths = article.locator("figure svg").evaluate_all(
            "svgs => svgs.map(svg => svg.getBoundingClientRect().width)"
        )
        assert widths
        assert min(widths) > 60


def test_music_is_large_enough_for_a_music_desk(page: Page) -> None:
    """A staff of the whole score is at least 5.5 mm high on a screen of 96 dots an inch."""
    height = page.evaluate(
        """() => {
            const svg = document.querySelector('.system svg');
            const box = svg.viewBox.baseVal;
            return 240 * svg.getBoundingClientRect().width / box.width / 96 * 25.4;
        }"""
    )
    assert height >= 5.5


def test_the_links_work_from_the_keyboard(page: Page) -> None:
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    assert page.evaluate("location.hash") == "#places"


def test_it_prints_on_a4_without_breaking_a_system(page: Page) -> None:
    import pypdfium2

    document = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
    assert 3 <= len(document) <= 30
    width, height = document[0].get_size()
    assert (round(width), round(height)) in {(595, 842), (596, 842), (595, 841)}
