"""A teacher's evening from beginning to end, in a real browser, on the real program, with a power cut in the middle."""

from __future__ import annotations

import io
import time
from collections.abc import Callable, Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.browser.studio_furniture import DEMO
from tests.browser.studio_server import PATIENCE, Server

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

WAIT_MS = 120_000
PIECE, STUDENT = "lamplighter.musicxml", "Mila"


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    with Server(tmp_path / "studio") as started:
        yield started


@pytest.fixture
def page(browser: Browser, server: Server) -> Iterator[Page]:
    context = browser.new_context(base_url=server.address, viewport={"width": 1280, "height": 900})
    context.set_default_timeout(WAIT_MS)
    opened = context.new_page()
    broken: list[str] = []
    opened.on("pageerror", lambda error: broken.append(str(error)))
    yield opened
    assert broken == []
    context.close()


def until(true: Callable[[], Any], seconds: float = PATIENCE) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "that did not come about"
        time.sleep(0.05)


def said(page: Page) -> str:
    return page.locator("#notices").inner_text()


def write_down_a_student(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Write down a student").click()
    page.get_by_label("Name").fill(STUDENT)
    page.get_by_label("Age", exact=True).select_option("child")
    page.get_by_label("Reach of the left hand").fill("16")
    page.get_by_label("Reach of the right hand").fill("16,5")
    page.get_by_label("Minutes of practice").fill("120")
    for day in ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"):
        page.get_by_label(day, exact=True).check()
    page.get_by_label("Day of the lesson").select_option(label="Wednesday")
    page.get_by_role("button", name="Write down").click()
    assert page.locator("h1").inner_text() == STUDENT


def drop_scores(page: Page) -> None:
    """Lay two files on the page, as from a folder."""
    page.get_by_role("link", name="Library").click()
    page.get_by_text("or lay them on this page").wait_for()
    handle = page.evaluate_handle("new DataTransfer()")
    for name in (PIECE, "paper-boat.musicxml"):
        text = (DEMO / name).read_text(encoding="utf-8")
        handle.evaluate("(t, [name, text]) => t.items.add(new File([text], name))", [name, text])
    page.dispatch_event("main", "dragenter", {"dataTransfer": handle})
    assert "over" in (page.locator("[data-drop]").get_attribute("class") or "")
    page.dispatch_event("main", "drop", {"dataTransfer": handle})
    page.wait_for_url("**/library/arrivals/*")
    until(lambda: page.locator("[data-arrivals] a").count() == 2)
    assert page.get_by_role("link", name="The Lamplighter").is_visible()


def open_the_piece(page: Page) -> None:
    page.goto("/pieces/1?student=1")
    page.wait_for_selector("#score")
    page.wait_for_selector(".layer.fingers", state="attached")
    until(lambda: page.locator("#to-bar option").count() > 1)


def mark_the_piece(page: Page) -> int:
    """Read the places, hide one, write a note, fix a finger; gives how many places there were."""
    open_the_piece(page)
    places = page.locator("#beside > .slip").count()
    assert places >= 2
    page.locator(".slip > summary").first.click()
    assert page.locator(".slip[open]").first.inner_text().strip()
    page.locator(".slip > summary").nth(1).click()
    page.locator(".slip[open] >> text=Hide this place").first.click()
    until(lambda: page.locator("#beside > .slip").count() == places - 1)
    page.locator("#score").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#chosen:not([hidden])")
    page.keyboard.press("w")
    page.keyboard.type("sing it first")
    page.locator("#note-form button.first").click()
    until(lambda: page.locator(".layer.mine text").count() == 1)
    page.locator("#score").focus()
    why = page.locator("#chosen-why").inner_text()
    page.keyboard.press("2" if "finger 2" not in why else "4")
    until(lambda: "Fixed a finger" in said(page))
    return places


def choose_and_plan(page: Page) -> None:
    page.goto("/students/1")
    page.get_by_role("link", name="Choose a piece").click()
    row = page.get_by_role("row", name="The Lamplighter")
    row.get_by_role("link", name="Is it right now?").click()
    page.get_by_role("button", name=f"Take it up with {STUDENT}").click()
    page.get_by_role("link", name="How The Lamplighter goes").click()
    day = date.today() + timedelta(days=70)
    page.get_by_label("To be played on").fill(day.isoformat())
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("link", name="Plan", exact=True).click()
    page.get_by_role("button", name="Make the plan").click()
    page.wait_for_url("**/students/1/plan*")
    page.get_by_role("heading", name="This week").wait_for()


def print_the_week(page: Page, server: Server) -> str:
    """The sheet's text, from its PDF."""
    import pypdfium2

    page.get_by_role("link", name="This week", exact=True).click()
    page.locator(".lines > li").first.wait_for()
    answer = page.request.get(f"{server.address}/students/1/assignment.pdf")
    document = pypdfium2.PdfDocument(io.BytesIO(answer.body()))
    assert len(document) == 1
    picture = document[0].render(scale=1).to_pil().convert("L")
    dark = sum(picture.histogram()[:128]) / (picture.width * picture.height)
    assert 0.005 < dark < 0.3
    return str(document[0].get_textpage().get_text_range())


def write_the_lesson_down(page: Page) -> None:
    page.goto("/students/1/lessons/new")
    page.get_by_label("What was done and heard").fill("A steady left hand.")
    page.get_by_label("Promised for the next time").fill("Bars 1 to 8 by heart.")
    page.locator(".went select").first.select_option("not")
    page.get_by_role("button", name="Write down").click()
    assert "The plan is being made again" in said(page)


def plan_version(page: Page) -> str:
    page.goto("/students/1/plan")
    return page.get_by_text("version").inner_text()


def test_an_evening(page: Page, server: Server) -> None:
    write_down_a_student(page)
    drop_scores(page)
    places = mark_the_piece(page)
    choose_and_plan(page)
    text = print_the_week(page, server)
    assert STUDENT in text
    assert "The Lamplighter" in text
    assert "done when" in text
    before = plan_version(page)
    write_the_lesson_down(page)
    until(lambda: plan_version(page) != before)

    server.kill()
    server.start()

    open_the_piece(page)
    assert page.locator("#beside > .slip").count() == places - 1
    assert page.locator(".layer.mine text").text_content() == "sing it first"
    until(lambda: page.locator(".layer.fingers text[font-style=italic]").count() == 1)
    page.goto(f"/?on={date.today() + timedelta(days=(2 - date.today().weekday()) % 7 or 7)}")
    assert "Bars 1 to 8 by heart." in page.locator("main").inner_text()
    assert plan_version(page) != before
    assert server.stop() == 0
