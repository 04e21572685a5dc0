"""The evening goes on: exercises heard, takes brought, played in and recorded, what they change, and a power cut while one is heard."""

from __future__ import annotations

import io
import os
import re
import time
import wave
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from passagework.listening.simulate.faults import WrongNote
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.listening.simulate.play import play
from passagework.score.read import read_score
from passagework.spots.context import Context
from tests.browser.studio_furniture import DEMO, furnish
from tests.browser.studio_server import PATIENCE, Server

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

    from passagework.listening.take import Take

pytestmark = pytest.mark.browser

WAIT_MS = 120_000
TAKES, PIECE = "/students/1/takes", 2  # the piece at work: see `furnish`
WRONG_BARS = range(2, 10)
AUDIBLE = 0.003
"""Root mean square below which a sound is silence; soft playing has ten times as much."""

PIANO = """
    class Port extends EventTarget { }
    const port = new Port();
    const listeners = [];
    port.addEventListener = (_, listener) => listeners.push(listener);
    navigator.requestMIDIAccess = async () => Object.assign(new EventTarget(), { inputs: new Map([["piano", port]]) });
    window.pianoPlays = rows => {
      for (const [at, ...data] of rows) for (const hear of listeners) hear({ timeStamp: at, data });
    };
"""
"""A piano on a cable, as the Web MIDI API shows one."""


@cache
def context_of(name: str) -> Context:
    return Context(read_score((DEMO / f"{name}.musicxml").read_bytes(), name).piece)


def a_take(name: str, *, wrong: bool = False, bars: tuple[int, int] | None = None) -> Take:
    """A take of a demo piece, with or without wrong notes."""
    context = context_of(name)
    first = {n.bar: n.id for n in reversed(context.piece.notes)}
    faults = [WrongNote(first[bar]) for bar in WRONG_BARS if bar in first] if wrong else []
    return play(context, seed=5, faults=faults, bars=bars).take


@pytest.fixture
def server(tmp_path: Path) -> Iterator[Server]:
    furnish(tmp_path / "studio", date.today())
    with Server(tmp_path / "studio") as started:
        yield started


@contextmanager
def opened(browser: Browser, server: Server, **more: Any) -> Iterator[Page]:
    context = browser.new_context(
        base_url=server.address, viewport={"width": 1280, "height": 900}, **more
    )
    context.set_default_timeout(WAIT_MS)
    page = context.new_page()
    broken: list[str] = []
    page.on("pageerror", lambda error: broken.append(str(error)))
    page.on("console", lambda m: broken.append(m.text) if m.type == "error" else None)
    yield page
    context.close()
    assert broken == []


def until(true: Callable[[], Any], seconds: float = PATIENCE) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "that did not come about"
        time.sleep(0.05)


def plan_version(page: Page) -> str:
    """What the plan's page says of itself, asked for beside the window: a page that shows a job goes on by itself when the job ends."""
    found = re.search(r"[^<>]*version \d+", page.request.get("/students/1/plan").text())
    assert found, "the page of the plan names no version"
    return found[0].strip()


def make_the_plan(page: Page) -> str:
    page.goto("/students/1/plan")
    page.get_by_role("button", name="Make the plan").click()
    until(lambda: re.search(r"version \d+", page.request.get("/students/1/plan").text()), 60)
    return plan_version(page)


def hear_an_exercise(page: Page) -> None:
    """Play the first step of a place; what comes from the server is sound, and not silence."""
    pytest.importorskip("midirenderer")
    page.goto(f"/pieces/{PIECE}?student=1")
    page.wait_for_selector("#score")
    page.wait_for_selector("#player:not([hidden])", state="attached")
    until(lambda: page.locator("#to-bar option").count() > 1)
    page.keyboard.press("n")
    page.keyboard.press("e")
    page.wait_for_selector(".exercise")
    sounds: list[bytes] = []
    page.on("response", lambda r: sounds.append(r.body()) if ".wav" in r.url else None)
    page.locator("[data-play-step]").first.click()
    page.wait_for_selector("#player[data-state=playing]")
    page.wait_for_timeout(300)
    page.locator("#play").click()
    assert sounds
    assert max(map(loudness, sounds)) > AUDIBLE


def loudness(data: bytes) -> float:
    """The root mean square of a WAV file's samples, 0 to 1."""
    import numpy as np

    with wave.open(io.BytesIO(data)) as file:
        assert file.getnframes() > 0
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32768
    return float(np.sqrt(np.mean(samples**2)))


def bring_a_take(page: Page, data: bytes) -> int:
    page.goto(TAKES)
    page.get_by_label("Which piece").select_option(str(PIECE))
    page.get_by_label("The file").set_input_files(
        {"name": "tuesday.mid", "mimeType": "audio/midi", "buffer": data}
    )
    page.get_by_role("button", name="Bring it in").click()
    return number_of(page)


def number_of(page: Page) -> int:
    page.wait_for_url(re.compile(r"/takes/\d+"))
    found = re.search(r"/takes/(\d+)", page.url)
    assert found
    return int(found[1])


def read_the_report(page: Page) -> str:
    page.get_by_role("heading", name="To say first").wait_for()
    return page.locator("main").inner_text()


def play_it_in(page: Page, take: Take) -> str:
    """Play a take over the cable; gives its report."""
    rows = [(n.onset, 0x90, n.pitch, n.velocity) for n in take.notes]
    rows += [(n.end, 0x80, n.pitch, 64) for n in take.notes]
    rows += [(p.start, 0xB0, 64, 127) for p in take.pedals]
    rows += [(p.end, 0xB0, 64, 0) for p in take.pedals]
    rows.sort()
    page.goto(TAKES)
    page.get_by_label("Which piece").select_option(str(PIECE))
    part = page.locator("#play-in")
    part.get_by_role("button", name="Begin").click()
    part.get_by_role("button", name="Stop and keep").wait_for()
    page.evaluate("rows => pianoPlays(rows)", [(1000 * at, *data) for at, *data in rows])
    until(lambda: f"{len(take.notes)} keys struck" in part.inner_text())
    part.get_by_role("button", name="Stop and keep").click()
    number_of(page)
    return read_the_report(page)


def test_the_evening_goes_on(browser: Browser, server: Server) -> None:
    with opened(browser, server) as page:
        page.add_init_script(PIANO)
        first = make_the_plan(page)
        hear_an_exercise(page)

        wrong = to_midi_bytes(a_take("lamplighter", wrong=True))
        number = bring_a_take(page, wrong)
        text = read_the_report(page)
        assert "Wrong notes" in text
        assert page.locator(".first-things > li").count() <= 3
        assert page.request.get(f"/takes/{number}/file").body() == wrong
        until(lambda: plan_version(page) != first)
        second = plan_version(page)
        assert "after a take" in second
        page.goto(f"/takes/{number}")
        assert "comes back sooner" in page.locator("main").inner_text()

        again = play_it_in(page, a_take("lamplighter"))
        assert "Then and now" in again
        row = page.get_by_role("row", name=re.compile("wrong notes"))
        then, now = (int(cell) for cell in row.locator("td").all_inner_texts())
        assert then > now == 0
        until(lambda: plan_version(page) != second)
        page.goto(TAKES)
        assert page.locator(".weeks .mark").count() == 2

        number = bring_a_take(page, to_midi_bytes(a_take("lamplighter", bars=(0, 12))))
    server.kill()
    server.start()
    with opened(browser, server) as page:
        page.goto(TAKES)
        assert page.locator('a[href^="/takes/"]').count() >= 4
        page.goto(f"/takes/{number}")
        listen = page.get_by_role("button", name="Listen to it now")
        if listen.count():
            listen.click()
        read_the_report(page)
        page.get_by_role("button", name="I have heard it").click()
        page.get_by_role("button", name="To be heard again").wait_for()
    assert server.stop() == 0


def test_a_take_is_recorded(browser: Browser, server: Server, tmp_path: Path) -> None:
    """The microphone is Chromium's own false one, fed with a rendered take of ten seconds."""
    from passagework.listening.transcribe import is_installed
    from tests.browser.conftest import QUIET

    if not is_installed():
        pytest.skip("recordings need the audio extra (make audio)")
    midirenderer = pytest.importorskip("midirenderer")
    from passagework.sound.soundfont import installed_soundfont

    take = a_take("lamplighter", wrong=True, bars=(0, 4))
    sound = bytes(midirenderer.render_wave_from(installed_soundfont(), to_midi_bytes(take)))
    heard = tmp_path / "heard.wav"
    heard.write_bytes(sound)
    arguments = [
        *QUIET,
        # Chromium refuses its own sandbox to root, which is who runs in containers.
        *(["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []),
        "--use-fake-ui-for-media-stream",
        "--use-fake-device-for-media-stream",
        f"--use-file-for-fake-audio-capture={heard}%noloop",
    ]
    kind = browser.browser_type
    with_microphone = kind.launch(executable_path=chromium(), args=arguments)
    try:
        with opened(with_microphone, server, permissions=["microphone"]) as page:
            page.goto(TAKES)
            page.get_by_label("Which piece").select_option(str(PIECE))
            part = page.locator("#record")
            part.get_by_role("button", name="Record").click()
            part.get_by_role("button", name="Stop and keep").wait_for()
            page.wait_for_timeout(1000 * (take.length + 1))
            assert "Recording" in part.inner_text()
            part.get_by_role("button", name="Stop and keep").click()
            number = number_of(page)
            text = read_the_report(page)
            assert "Wrong notes" in text
            kept = page.request.get(f"/takes/{number}/file").body()
            assert loudness(kept) > AUDIBLE
            with wave.open(io.BytesIO(kept)) as file:
                assert file.getnframes() / file.getframerate() == pytest.approx(
                    take.length + 1, abs=2.5
                )
    finally:
        with_microphone.close()


def chromium() -> str | None:
    """The browser's own path, where it is the system's."""
    import shutil

    from tests.browser.conftest import NAMES

    return next((p for p in map(shutil.which, NAMES) if p), None)


def test_pages_of_takes_can_be_read_by_everybody(browser: Browser, server: Server) -> None:
    from axe_playwright_python.sync_playwright import Axe

    with opened(browser, server) as page:
        number = bring_a_take(page, to_midi_bytes(a_take("lamplighter", wrong=True)))
        read_the_report(page)
        bring_a_take(page, to_midi_bytes(a_take("lamplighter")))
        read_the_report(page)
        bring_a_take(page, b"no take")
        page.get_by_role("alert").wait_for()
        failed = page.url
        for width in (1280, 768):
            page.set_viewport_size({"width": width, "height": 1024})
            for address in (TAKES, f"/takes/{number}", failed, "/takes"):
                page.goto(address)
                found = Axe().run(page).response["violations"]
                serious = [v["id"] for v in found if v["impact"] in {"serious", "critical"}]
                assert serious == [], address
                wide = page.evaluate("document.documentElement.scrollWidth")
                assert wide <= width, address
