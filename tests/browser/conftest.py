"""A real Chromium for the pages; without one these tests skip and say so."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = [
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]


def _own_browser() -> str | None:
    """The browser that playwright downloaded, where it did."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        path = playwright.chromium.executable_path
    return path if Path(path).exists() else None


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    import os

    from playwright.sync_api import sync_playwright

    path = next((p for p in map(shutil.which, NAMES) if p), None) or _own_browser()
    if path is None:
        pytest.skip("no Chromium on this machine: install the package 'chromium'")
    # Chromium refuses its own sandbox to root, which is who runs in containers.
    root = hasattr(os, "geteuid") and os.geteuid() == 0
    arguments = [*QUIET, *(["--no-sandbox"] if root else [])]
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=arguments)
        yield started
        started.close()
