"""What every test can ask for: sample pieces of this project, real scores where they are at hand."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest

from passagework.score import Piece, Reading, read_score

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "src" / "passagework" / "demo"


def data_folder() -> Path | None:
    """The folder of real scores and performances: ``PASSAGEWORK_DATA``, or beside the checkout."""
    named = os.environ.get("PASSAGEWORK_DATA")
    folder = Path(named) if named else ROOT.parent / "shared" / "data"
    return folder if (folder / "scores").is_dir() else None


def real_scores() -> list[Path]:
    """Every real score at hand; an empty list where there is none."""
    folder = data_folder()
    return sorted((folder / "scores").glob("*.musicxml")) if folder else []


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--nightly", action="store_true", help="run the long tests too")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--nightly"):
        return
    for item in items:
        if "nightly" in item.keywords:
            item.add_marker(pytest.mark.skip(reason="a long run: asked for with --nightly"))


@pytest.fixture(scope="session")
def data() -> Path:
    """The folder of real data; the test is skipped where it is missing."""
    folder = data_folder()
    if folder is None:
        pytest.skip("real scores are not here (set PASSAGEWORK_DATA to their folder)")
    return folder


@pytest.fixture(scope="session")
def demo() -> Callable[[str], Reading]:
    """A demo piece by its name, read once."""
    known: dict[str, Reading] = {}

    def read(name: str) -> Reading:
        if name not in known:
            path = DEMO / f"{name}.musicxml"
            known[name] = read_score(path.read_bytes(), path.name)
        return known[name]

    return read


@pytest.fixture(scope="session")
def real(data: Path) -> Callable[[str], Piece]:
    """A real score by its name, read once; skips where the data is missing."""
    known: dict[str, Piece] = {}

    def read(name: str) -> Piece:
        if name not in known:
            path = data / "scores" / f"{name}.musicxml"
            known[name] = read_score(path.read_bytes(), path.name).piece
        return known[name]

    return read
