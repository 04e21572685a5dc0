"""The handbook leads to what is there: pictures, commands, pages, links."""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from pathlib import Path

import pytest

from passagework.cli.main import main

ROOT = Path(__file__).parents[1]
HANDBOOK = ROOT / "docs" / "handbook.md"
WORDS = HANDBOOK.read_text(encoding="utf-8")
COMMANDS = sorted(set(re.findall(r"^    \.venv/bin/passagework (.+)$", WORDS, re.MULTILINE)))
PAGES = sorted(set(re.findall(r"`(/[a-z/]*)`", WORDS)))
PICTURES = sorted(set(re.findall(r"!\[[^]]+\]\((images/[^)]+)\)", WORDS)))
PICTURE_BYTES = 150_000


def test_there_is_something_to_check() -> None:
    assert COMMANDS
    assert len(PAGES) >= 4
    assert len(PICTURES) >= 6


@pytest.mark.parametrize("picture", PICTURES)
def test_a_picture_is_there_and_small(picture: str) -> None:
    data = (ROOT / "docs" / picture).read_bytes()
    assert data.startswith(b"\x89PNG")
    assert len(data) < PICTURE_BYTES
    assert int.from_bytes(data[16:20], "big") == 1000


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_knows_its_options(command: str) -> None:
    name, *rest = shlex.split(command)
    told = io.StringIO()
    with contextlib.redirect_stdout(told), pytest.raises(SystemExit) as ended:
        main([name, "--help"])
    assert ended.value.code == 0
    for option in (word for word in rest if word.startswith("--")):
        assert option in told.getvalue()


def test_every_page_answers(tmp_path: Path) -> None:
    from passagework.studio.studio import open_studio
    from passagework.web.app import create_app
    from passagework.web.jobs import Jobs
    from passagework.web.settings import Settings
    from tests.web.conftest import PORT, browser_like

    jobs = Jobs(1)
    try:
        with open_studio(tmp_path / "studio") as studio:
            client = browser_like(create_app(studio, Settings(PORT), jobs))
            for page in PAGES:
                assert client.get(page).status_code == 200, page
    finally:
        jobs.close()


@pytest.mark.parametrize(
    "document", [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))], ids=lambda p: p.name
)
def test_links_lead_somewhere(document: Path) -> None:
    for link in re.findall(r"\]\(([^)\s]+)\)", document.read_text(encoding="utf-8")):
        if re.match(r"[a-z]+:", link) or link.startswith("#"):
            continue
        assert (document.parent / link.partition("#")[0]).exists(), link
