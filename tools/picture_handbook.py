"""Takes the handbook's pictures from the real page of the demo studio, so that they cannot go stale.

Usage: python tools/picture_handbook.py docs/images (needs Chromium, playwright and Pillow)
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Page

WIDTH, HEIGHT = 1000, 760
PATIENCE = 60.0
COLOURS = 64
"""Of a picture's palette: paper, pencil and a few inks need no more."""


def serve(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """The program itself on that folder, and its address."""
    command = [sys.executable, "-m", "passagework", "serve", "--data", str(folder), "--no-browser"]
    process = subprocess.Popen(
        command,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    for line in process.stdout:
        if found := re.search(r"http://127\.0\.0\.1:\d+", line):
            return process, found[0]
    raise SystemExit("the page did not start")


def settle(page: Page, address: str) -> None:
    """Go there, and wait until what is worked out the first time is there."""
    page.goto(address, wait_until="load")
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and page.locator("progress").count():
        time.sleep(0.5)
    page.wait_for_timeout(1500)


def keep(page: Page, path: Path) -> None:
    """The window as a small PNG."""
    from PIL import Image

    picture = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    picture.quantize(COLOURS).save(path, optimize=True)


def first(page: Page, pattern: str) -> str:
    """The first address on the page that fits the pattern."""
    every = page.locator("a").evaluate_all("all => all.map(a => a.getAttribute('href') || '')")
    return next(href for href in every if re.fullmatch(pattern, href))


def take_all(page: Page, address: str, target: Path) -> None:
    """Walk through the demo studio as a teacher would."""

    def shoot(path: str, name: str) -> None:
        settle(page, address + path)
        keep(page, target / f"handbook-{name}.png")

    shoot("/", "today")
    settle(page, f"{address}/students")
    student = first(page, r"/students/\d+")
    shoot(student, "student")
    shoot("/students/new", "new-student")
    shoot("/library", "library")
    piece = first(page, r"/pieces/\d+(\?.*)?").partition("?")[0]
    shoot(f"{piece}?student={student.rpartition('/')[2]}", "piece")
    shoot(f"{student}/ready/{piece.rpartition('/')[2]}", "readiness")
    shoot(f"{student}/plan", "plan")
    shoot("/keeping", "keeping")
    settle(page, f"{address}{student}/takes")
    shoot(first(page, r"/takes/\d+"), "take")


def main() -> None:
    """Write the pictures into the folder on the command line."""
    from playwright.sync_api import sync_playwright

    from passagework.web.demo_studio.make import make_demo_studio

    target = Path(sys.argv[1])
    target.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept) / "studio"
        make_demo_studio(folder, date.today(), lambda line: print(line, file=sys.stderr))
        process, address = serve(folder)
        try:
            with sync_playwright() as playwright:
                browser = playwright.chromium.launch(
                    executable_path=shutil.which("chromium") or shutil.which("chromium-browser"),
                    args=["--no-sandbox", "--disable-gpu"],
                )
                size = {"width": WIDTH, "height": HEIGHT}
                page = browser.new_page(viewport=size)  # type: ignore[arg-type]
                page.on("pageerror", lambda e: print("page error", page.url, e, file=sys.stderr))
                take_all(page, address, target)
                browser.close()
        finally:
            process.terminate()
            process.wait()


if __name__ == "__main__":
    main()
