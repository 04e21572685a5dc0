"""The page of a piece in a real browser: looked through, edited, heard, by pointer and by keys."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from importlib.resources import files
from typing import TYPE_CHECKING, Any

import pytest

from passagework.hands.hand import Hand, Hands
from passagework.studio.records import StudentDetails
from passagework.studio.studio import open_studio
from passagework.web.app import create_app
from passagework.web.jobs import Jobs
from passagework.web.settings import Settings

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.browser

WAIT_MS = 120_000
WIDTHS = (1280, 768)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A studio with one piece and one student, served on a free port."""
    import uvicorn

    with open_studio(tmp_path_factory.mktemp("studio")) as studio, socket.socket() as listening:
        data = files("passagework.demo").joinpath("evening-ferry.musicxml").read_bytes()
        studio.pieces.add(data, "evening-ferry.musicxml")
        studio.students.add(StudentDetails(name="Ada", hands=Hands.alike(Hand(18.0))))
        listening.bind(("127.0.0.1", 0))
        listening.listen(64)
        port = listening.getsockname()[1]
        app = create_app(studio, Settings(port, workers=2), Jobs(2))
        server = uvicorn.Server(uvicorn.Config(app, log_level="error"))
        thread = threading.Thread(target=server.run, args=([listening],), daemon=True)
        thread.start()
        yield f"http://127.0.0.1:{port}"
        server.should_exit = True
        thread.join(20)


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(viewport={"width": 1280, "height": 900})
    opened = context.new_page()
    complaints: list[str] = []
    opened.on("console", lambda m: complaints.append(m.text) if m.type == "error" else None)
    opened.on("pageerror", lambda error: complaints.append(str(error)))
    opened.goto(f"{address}/pieces/1")
    settled(opened)
    yield opened
    assert complaints == []
    context.close()


def settled(page: Page) -> None:
    """Wait for the piece, its fingers, and its scripts."""
    page.wait_for_selector("#score", timeout=WAIT_MS)
    page.wait_for_selector("#player:not([hidden])", state="attached", timeout=WAIT_MS)
    page.wait_for_selector(".layer.fingers", state="attached", timeout=WAIT_MS)
    until(lambda: page.locator("#to-bar option").count() > 1)


def until(true: Callable[[], Any], seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if true():
            return
        time.sleep(0.05)
    raise AssertionError("that did not come about")


def said(page: Page) -> str:
    return page.locator("#notices").inner_text()


def undo(page: Page) -> None:
    page.keyboard.press("Escape")
    page.keyboard.press("z")
    until(lambda: "Taken back" in said(page))


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_runs_out_of_the_page(page: Page, width: int) -> None:
    page.set_viewport_size({"width": width, "height": 1024})
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    small = page.evaluate(
        """() => [...document.querySelectorAll('button, summary, select, input, .buttons a')]
            .filter(e => e.checkVisibility() && !e.closest('label'))
            .map(e => [e.id || e.textContent.trim().slice(0, 30), e.getBoundingClientRect()])
            .filter(([, box]) => box.width > 0 && (box.height < 24 || box.width < 24))
            .map(([name]) => name)"""
    )
    assert small == []


@pytest.mark.parametrize("width", WIDTHS)
def test_axe_finds_no_serious_problem(page: Page, width: int) -> None:
    axe = pytest.importorskip("axe_playwright_python.sync_playwright")
    page.set_viewport_size({"width": width, "height": 1024})
    page.locator(".slip > summary").first.click()
    page.locator(".slip[open] [data-drill]").click()
    page.wait_for_selector(".exercise", timeout=WAIT_MS)
    page.locator("#score").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#chosen:not([hidden])")
    found = axe.Axe().run(page).response["violations"]
    serious = [
        (v["id"], [n["target"] for n in v["nodes"]][:4])
        for v in found
        if v["impact"] in {"serious", "critical"}
    ]
    assert serious == []


def test_the_music_is_large_enough_for_a_music_desk(page: Page) -> None:
    for width in WIDTHS:
        page.set_viewport_size({"width": width, "height": 1024})
        height = page.evaluate(
            """() => {
                const svg = document.querySelector('.system svg');
                return 240 * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width / 96 * 25.4;
            }"""
        )
        assert height >= 5.5


def test_places_one_after_the_other_by_keys(page: Page) -> None:
    titles = []
    for _ in range(3):
        page.keyboard.press("n")
        titles.append(page.locator(".slip[open] .number").inner_text())
    assert titles == ["1", "2", "3"]
    page.keyboard.press("p")
    assert page.locator(".slip[open] .number").inner_text() == "2"
    until(lambda: page.locator("[data-number='2'].is-open").count() >= 1)


def test_a_number_opens_its_slip_and_a_note_inside_a_ring_can_be_chosen(page: Page) -> None:
    number = page.locator(".layer.places [data-number]:has(text)").first
    rank = number.get_attribute("data-number")
    number.scroll_into_view_if_needed()
    box = number.bounding_box()
    assert box
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    until(lambda: page.locator(".slip[open] .number").inner_text() == rank)
    note = page.locator(".slip[open]").get_attribute("data-notes")
    assert note
    head = page.locator(f"[id='s-{note.split()[0]}'] use").first
    until(lambda: head.evaluate("h => { const b = h.getBoundingClientRect(); return b.top > 0 && b.bottom < innerHeight - 80; }"))  # fmt: skip
    page.wait_for_timeout(700)
    place = head.bounding_box()
    assert place
    page.mouse.click(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)
    page.wait_for_selector("#chosen:not([hidden])")
    assert page.locator(f"[id='s-{note.split()[0]}'].is-chosen").count() == 1


def test_keys_are_left_alone_while_somebody_types(page: Page) -> None:
    page.locator("#score").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#chosen:not([hidden])")
    page.keyboard.press("w")
    page.keyboard.type("no pedal, z n p 3 ?")
    assert page.locator("#note-form textarea").input_value() == "no pedal, z n p 3 ?"
    assert page.locator("#keys").get_attribute("open") is None
    assert page.locator("#player").get_attribute("data-state") in {None, "still"}


def test_single_keys_can_be_turned_off(page: Page) -> None:
    page.keyboard.press("?")
    page.locator("#keys-on").uncheck()
    page.locator("#keys button").click()
    page.keyboard.press("n")
    assert page.locator(".slip[open]").count() == 0
    page.keyboard.press("?")
    page.locator("#keys-on").check()
    page.locator("#keys button").click()


def test_a_finger_is_fixed_by_keys_and_taken_back(page: Page) -> None:
    page.locator("#score").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.wait_for_selector("#chosen:not([hidden])")
    why = page.locator("#chosen-why").inner_text()
    finger = "2" if "finger 2" not in why else "4"
    page.keyboard.press(finger)
    until(lambda: "Fixed a finger" in said(page))
    until(lambda: f"finger {finger}, yours" in page.locator("#chosen-why").inner_text())
    assert page.locator(f"#chosen-fingers [data-finger='{finger}']").get_attribute("aria-pressed") == "true"  # fmt: skip
    page.reload()
    settled(page)
    assert page.locator(".layer.fingers text[font-style=italic]").count() == 1
    note = page.locator("#score").evaluate("() => fetch('/pieces/1/notes').then(a => a.json()).then(v => v.notes.filter(n => n[9]).length)")  # fmt: skip
    assert note == 1
    page.locator("#score").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.locator("#free-finger").click()
    until(lambda: "program finds" in said(page))


def test_a_place_is_hidden_and_comes_back(page: Page) -> None:
    count = page.locator("#beside > .slip").count()
    page.locator(".slip > summary").nth(1).click()
    page.locator(".slip[open] >> text=Hide this place").click()
    until(lambda: page.locator("#beside > .slip").count() == count - 1)
    assert page.locator("[data-number='2']").count() == 0
    undo(page)
    until(lambda: page.locator("#beside > .slip").count() == count)
    until(lambda: page.locator("[data-number='2']").count() >= 1)


def test_bars_are_chosen_with_the_pointer_and_marked(page: Page) -> None:
    bars = page.locator("rect.bar")
    bars.nth(2).click(position={"x": 3, "y": 3})
    bars.nth(3).click(position={"x": 3, "y": 3}, modifiers=["Shift"])
    until(lambda: "bars" in page.locator("#chosen-title").inner_text().lower())
    page.locator("[data-opens=place-form]").click()
    page.locator("#place-form [name=title]").fill("Two bars of my own")
    page.locator("#place-form button.first").click()
    until(lambda: page.locator("#beside >> text=Two bars of my own").count() > 0)
    undo(page)
    until(lambda: page.locator("#beside >> text=Two bars of my own").count() == 0)


def test_a_note_is_written_and_stands_in_the_score(page: Page) -> None:
    page.locator("#score").focus()
    page.keyboard.press("ArrowRight")
    page.wait_for_selector("#chosen:not([hidden])")
    page.keyboard.press("w")
    page.keyboard.type("listen to the bass")
    page.locator("#note-form button.first").click()
    until(lambda: page.locator(".layer.mine text").count() == 1)
    assert page.locator(".layer.mine text").text_content() == "listen to the bass"
    assert "listen to the bass" in page.locator("#own-notes").inner_text()
    undo(page)
    until(lambda: page.locator(".layer.mine text").count() == 0)


def test_layers_are_shown_hidden_and_remembered(page: Page) -> None:
    harmony = page.locator(".layer.harmony").first
    assert not harmony.is_visible()
    low = page.locator(".system svg").first.evaluate("svg => svg.viewBox.baseVal.height")
    page.locator("#layers input[value=harmony]").check()
    assert harmony.is_visible()
    assert page.locator(".system svg").first.evaluate("svg => svg.viewBox.baseVal.height") > low
    page.reload()
    settled(page)
    assert page.locator("#layers input[value=harmony]").is_checked()
    page.locator("#layers input[value=harmony]").uncheck()


def test_the_strip_leads_to_a_bar(page: Page) -> None:
    hand = page.locator(".strip-1 .strip-hand")
    hand.focus()
    page.keyboard.press("End")
    last = page.locator(".system").last
    until(lambda: last.evaluate("s => s.getBoundingClientRect().top < innerHeight"))
    assert hand.get_attribute("aria-valuenow") == hand.get_attribute("aria-valuemax")


def level(page: Page) -> float:
    return float(page.locator("#player").get_attribute("data-level") or 0)


def moment(page: Page) -> float:
    """The second of the score that the cursor shows."""
    return float(page.locator("#player").get_attribute("data-moment") or 0)


def test_the_score_sounds_and_the_cursor_goes_with_it(page: Page) -> None:
    pytest.importorskip("midirenderer")
    page.locator("#player-more").click()
    page.locator("#count-in").uncheck()
    page.locator("#score").focus()
    page.keyboard.press(" ")
    page.wait_for_selector("#player[data-state=playing]", timeout=WAIT_MS)
    until(lambda: level(page) > 0.005)
    until(lambda: page.locator(".sounds").count() > 0)
    first = moment(page)
    until(lambda: moment(page) > first + 4)
    assert page.locator(".cursor").count() == 1
    page.locator("#hear-right").uncheck()
    page.locator("#hear-left").uncheck()
    until(lambda: level(page) < 0.001)
    page.keyboard.press("Escape")
    page.locator("#play").click()
    assert page.locator("#player").get_attribute("data-state") == "still"
    assert page.locator(".sounds").count() == 0
    assert page.locator(".cursor").count() == 0
    assert page.locator("#play").inner_text() == "Go on"
    left = moment(page)
    page.locator("#play").click()
    page.wait_for_selector("#player[data-state=playing]", timeout=WAIT_MS)
    until(lambda: moment(page) > 0)
    assert left - 3.0 < moment(page)
    page.locator("#play").click()
    page.locator("#from-start").click()
    page.wait_for_selector("#player[data-state=playing]", timeout=WAIT_MS)
    until(lambda: 0 < moment(page) < 1.5)
    page.locator("#play").click()


def test_a_step_plays_over_and_over_with_its_cursor(page: Page) -> None:
    pytest.importorskip("midirenderer")
    page.keyboard.press("n")
    page.keyboard.press("e")
    page.wait_for_selector(".exercise", timeout=WAIT_MS)
    page.locator("#player-more").click()
    page.locator("#count-in").uncheck()
    page.locator("#again").check()
    page.locator("[data-play-step]").first.click()
    page.wait_for_selector("#player[data-state=playing]", timeout=WAIT_MS)
    until(lambda: level(page) > 0.005)
    until(lambda: page.locator(".step-music .cursor").count() == 1)
    moments: list[float] = []

    def came_round() -> bool:
        moments.append(float(page.locator("#player").get_attribute("data-moment") or 0))
        return len(moments) > 1 and moments[-1] < moments[-2] - 0.5

    until(came_round, 90)
    assert page.locator("#player").get_attribute("data-state") == "playing"
    page.keyboard.press("Escape")
    page.keyboard.press(" ")
    page.locator("#again").uncheck()


def test_it_prints_without_controls(page: Page) -> None:
    import pypdfium2

    document = pypdfium2.PdfDocument(page.pdf(prefer_css_page_size=True))
    text = "".join(p.get_textpage().get_text_bounded() for p in document)
    assert "What to practise" in text
    assert "Other fingerings" not in text
    assert "Hide this place" not in text
