"""Takes the README's picture of a guide from the guide itself, so that it cannot go stale.

Usage: python tools/picture_guide.py docs/images/guide.png (needs Chromium and playwright)
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from importlib.resources import files
from pathlib import Path

from passagework.guide.preparation import Preparation
from passagework.guide.write import guide_files
from passagework.hands.hand import Hand
from passagework.score import read_score

WIDTH, HEIGHT = 1280, 1500


def main() -> None:
    """Write the picture to the path on the command line."""
    from playwright.sync_api import sync_playwright

    target = Path(sys.argv[1])
    target.parent.mkdir(parents=True, exist_ok=True)
    score = files("passagework.demo").joinpath("evening-ferry.musicxml").read_bytes()
    page_bytes = guide_files(Preparation(read_score(score), Hand(18.5), "Ottilie"))["guide.html"]
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        page_path = Path(folder) / "guide.html"
        page_path.write_bytes(page_bytes)
        browser = playwright.chromium.launch(
            executable_path=shutil.which("chromium") or shutil.which("chromium-browser"),
            args=["--no-sandbox", "--disable-gpu"],
        )
        page = browser.new_page(viewport={"width": WIDTH, "height": HEIGHT})
        page.goto(page_path.as_uri())
        page.screenshot(path=str(target))
        browser.close()


if __name__ == "__main__":
    main()
