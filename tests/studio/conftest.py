"""A studio in a folder of its own, with a clock that the test moves."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from passagework.studio import blobs, database
from passagework.studio.database import FILE_NAME
from passagework.studio.studio import Studio, open_studio


class Clock:
    """A clock that stands still until it is moved, but for a millisecond at every look."""

    def __init__(self) -> None:
        self.at = datetime(2026, 3, 2, 15, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        self.at += timedelta(milliseconds=1)
        return self.at

    def move(self, **much: float) -> None:
        self.at += timedelta(**much)


@pytest.fixture(scope="session", autouse=True)
def not_durable() -> Iterator[None]:
    """Nobody cuts the power here (`test_killed` has processes of its own): waiting for the disk would be all that is measured."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(database, "SYNCHRONOUS", "OFF")
        patch.setattr(blobs.os, "fsync", lambda _handle: None)
        yield


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory, not_durable: None) -> Path:  # noqa: ARG001
    """The database of an empty studio, made once: the machinery of migrations takes half a second."""
    folder = tmp_path_factory.mktemp("empty")
    open_studio(folder, now=Clock()).close()
    return folder / FILE_NAME


def open_empty(folder: Path, empty: Path, clock: Clock) -> Studio:
    folder.mkdir(parents=True)
    shutil.copyfile(empty, folder / FILE_NAME)
    return open_studio(folder, now=clock)


@pytest.fixture
def studio(tmp_path: Path, empty: Path, clock: Clock) -> Iterator[Studio]:
    with open_empty(tmp_path / "studio", empty, clock) as opened:
        yield opened


@pytest.fixture
def another(tmp_path: Path, empty: Path, clock: Clock) -> Iterator[Callable[[], Studio]]:
    """Further studios, empty."""
    opened: list[Studio] = []

    def make() -> Studio:
        opened.append(open_empty(tmp_path / f"another{len(opened)}", empty, clock))
        return opened[-1]

    yield make
    for studio in opened:
        studio.close()
