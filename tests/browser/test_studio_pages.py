"""Every page of the studio in a real browser: on a desk and on a tablet, by keyboard, printed, and looked through by axe."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

import pytest

from tests.browser.studio_furniture import furnish
from tests.browser.studio_server import PATIENCE, Server

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

WIDTHS = (1280, 768)
PAGES = (
    "/",
    "/students",
    "/students/new",
    "/students/1",
    "/students/1/details",
    "/students/1/delete",
    "/students/1/skills",
    "/students/1/lessons",
    "/students/1/lessons/new",
    "/students/1/studies/2",
    "/students/1/ready/3",
    "/students/1/ready/3/stones",
    "/students/1/takes",
    "/students/1/plan",
    "/students/1/assignment",
    "/lessons/1",
    "/library",
    "/library?student=1",
    "/library?deleted=true",
    "/library/1",
    "/library/levels",
    "/keeping",
    "/nowhere",
)
SERIOUS = {"serious", "critical"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    folder = tmp_path_factory.mktemp("studio") / "studio"
    furnish(folder, date.today())
    with Server(folder) as started:
        yield started


@pytest.fixture(scope="module")
def page(browser: Browser, server: Server) -> Iterator[Page]:
    context = browser.new_context(base_url=server.address, viewport={"width": 1280, "height": 900})
    context.set_default_timeout(PATIENCE * 1000)
    opened = context.new_page()
    opened.goto("/students/1/plan")
    opened.get_by_role("button", name="Make the plan").click()
    opened.wait_for_url("**/students/1/plan*")
    opened.get_by_text("hands separately").first.wait_for()
    yield opened
    context.close()


def settled(page: Page, path: str) -> None:
    """Open a page, and wait until what it works out is there."""
    from playwright.sync_api import expect

    page.goto(path)
    expect(page.locator("[data-job]")).to_have_count(0, timeout=PATIENCE * 1000)


@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing_serious_and_nothing_is_cut_off(page: Page, path: str) -> None:
    from axe_playwright_python.sync_playwright import Axe

    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 900})
        settled(page, path)
        found = Axe().run(page).response["violations"]
        serious = [(v["id"], v["nodes"][0]["html"]) for v in found if v["impact"] in SERIOUS]
        assert serious == [], f"{path} at {width}"
        beyond = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert beyond <= 0, f"{path} is {beyond} px too wide at {width}"
    assert errors == []


@pytest.mark.parametrize("path", PAGES)
def test_what_is_touched_is_large_enough_and_has_a_name(page: Page, path: str) -> None:
    """WCAG 2.2, 2.5.8: 24 by 24 px, but for links inside a sentence or a table's cell, which lines of text part."""
    page.set_viewport_size({"width": 768, "height": 900})
    settled(page, path)
    small = page.evaluate(
        """() => [...document.querySelectorAll('button, input:not([type=hidden]), select, textarea, summary, .button, .rooms a, .tabs a')]
            .filter(e => e.checkVisibility() && !e.classList.contains('skip'))
            .map(e => [e.outerHTML.slice(0, 90), e.closest('label')?.getBoundingClientRect() || e.getBoundingClientRect()])
            .filter(([, box]) => box.width < 24 || box.height < 24).map(([html]) => html)"""
    )
    assert small == []


def test_the_keyboard_goes_everywhere_and_is_seen(page: Page) -> None:
    page.set_viewport_size({"width": 1280, "height": 900})
    settled(page, "/students/1")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    settled(page, "/students/1")
    reached = []
    for _ in range(60):
        page.keyboard.press("Tab")
        name, outline = page.evaluate(
            """() => { const e = document.activeElement;
                return [e === document.body ? '' : e.textContent.trim() || e.name, getComputedStyle(e).outlineStyle]; }"""
        )
        if not name:
            break
        assert outline != "none", name
        reached.append(name)
    links = page.locator("a:visible, button:visible").count()
    assert len(reached) >= links - 1
    assert len(reached) == len(page.locator("a:visible, button:visible, summary:visible").all())


def test_nothing_is_loaded_from_elsewhere_and_nothing_breaks_the_policy(
    page: Page, server: Server
) -> None:
    asked: list[str] = []
    told: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda line: told.append(line.text))
    for path in PAGES[:-1]:
        settled(page, path)
    assert all(url.startswith((server.address, "data:")) for url in asked)
    assert [line for line in told if "Content Security Policy" in line] == []


def test_forms_work_without_scripts(browser: Browser, server: Server) -> None:
    context = browser.new_context(base_url=server.address, java_script_enabled=False)
    context.set_default_timeout(PATIENCE * 1000)
    plain = context.new_page()
    plain.goto("/students/new")
    plain.get_by_label("Name").fill("Ona")
    plain.get_by_label("Reach of the left hand").fill("18,5")
    plain.get_by_role("button", name="Write down").click()
    assert plain.locator("h1").inner_text() == "Ona"
    assert "is written down" in plain.locator(".notice").inner_text()
    plain.get_by_role("link", name="Details").click()
    plain.get_by_label("Name").fill("Onna")
    plain.get_by_role("button", name="Keep").click()
    plain.locator(".notice").get_by_role("button", name="Undo").click()
    assert plain.locator("h1").inner_text() == "Ona"
    context.close()


def test_a_form_that_is_wrong_takes_the_focus_to_what_is_wrong(page: Page) -> None:
    settled(page, "/students/new")
    page.get_by_label("Name").fill("Ona")
    page.get_by_label("Reach of the left hand").fill("wide")
    page.get_by_role("button", name="Write down").click()
    assert "wide" in page.locator(".problem").inner_text()
    assert page.evaluate("document.activeElement.className").find("problem") >= 0
    assert page.get_by_label("Name").input_value() == "Ona"


def test_the_plan_and_the_week_are_printed_without_the_page_around_them(page: Page) -> None:
    import pypdfium2

    for path in ("/students/1/plan", "/students/1/assignment"):
        settled(page, path)
        document = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
        text = document[0].get_textpage().get_text_range()
        assert "Mila" in text
        assert "What is kept" not in text
        assert "Print on" not in text
        assert len(document) <= 6


def test_a_hidden_notice_does_not_come_again(page: Page) -> None:
    settled(page, "/students/2/details")
    page.get_by_role("button", name="Keep").click()
    page.locator(".notice").wait_for()
    assert "notice=" not in page.url
    page.reload()
    assert page.locator(".notice").count() == 0
