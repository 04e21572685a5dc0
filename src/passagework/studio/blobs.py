"""Scores and takes as files, named by the hash of their content.

A file is written to a temporary name, brought to the disk, then renamed, and its folder brought to the disk: a name
never stands for half a file. Files come before the rows that speak of them and go after them, so that a crash leaves at
most a file that nobody speaks of, which `sweep` takes away.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path
from uuid import uuid4

from passagework.studio.errors import StudioError

FOLDER_MODE, FILE_MODE = 0o700, 0o600
"""Nobody but the teacher reads what is kept of students."""

_HASH = re.compile(r"[0-9a-f]{64}")
_TEMPORARY = ".new-"


def hash_of(data: bytes) -> str:
    """SHA-256 in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


class Blobs:
    """One folder of files by their hash."""

    def __init__(self, folder: Path, what: str) -> None:
        self.folder = folder
        self.what = what
        make_folder(folder)

    def path(self, name: str) -> Path:
        """Where the file of a hash lies. Raises `StudioError` for anything but a hash."""
        if not _HASH.fullmatch(name):
            raise StudioError(f"there is no such {self.what}")
        return self.folder / name[:2] / name

    def put(self, data: bytes) -> str:
        """Keep `data`; its hash. A file that is there and sound is left alone, a damaged one is replaced."""
        name = hash_of(data)
        path = self.path(name)
        if not _sound(path, name, len(data)):
            make_folder(path.parent)
            write_whole(path, data)
        return name

    def get(self, name: str) -> bytes:
        """The content; raises `StudioError` where the file is gone or is not what was stored."""
        try:
            data = self.path(name).read_bytes()
        except OSError:
            raise StudioError(
                f"the file of this {self.what} is missing", do="restore the studio from a backup"
            ) from None
        if hash_of(data) != name:
            raise StudioError(
                f"the file of this {self.what} is damaged", do="restore the studio from a backup"
            )
        return data

    def is_sound(self, name: str) -> bool:
        """Whether the file is there and is what was stored."""
        try:
            return hash_of(self.path(name).read_bytes()) == name
        except OSError:
            return False

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        return self.path(name).is_file()

    def remove(self, name: str) -> None:
        """Take a file away, if it is there."""
        self.path(name).unlink(missing_ok=True)

    def names(self) -> Iterator[str]:
        """The hashes of all files."""
        for path in self.folder.glob("??/*"):
            if _HASH.fullmatch(path.name):
                yield path.name

    def size(self) -> int:
        """Bytes of all files."""
        return sum(path.stat().st_size for path in self.folder.glob("??/*"))

    def sweep(self, wanted: Collection[str]) -> int:
        """Take away every file that is not wanted, and what crashes left half written; how many.

        To be called while nobody else can write: a file just put, whose row is on its way, would go.
        """
        gone = 0
        for path in list(self.folder.glob("??/*")):
            if path.name not in wanted:
                path.unlink(missing_ok=True)
                gone += 1
        return gone


def make_folder(folder: Path) -> None:
    """Make a folder that only its owner opens, and its parents; the new name is brought to the disk."""
    if folder.is_dir():
        return
    make_folder(folder.parent)
    folder.mkdir(mode=FOLDER_MODE, exist_ok=True)
    settle(folder.parent)


def write_whole(path: Path, data: bytes, durable: bool = True) -> None:
    """Write a file so that its name stands for all of it or for what was there before."""
    temporary = path.with_name(f"{_TEMPORARY}{uuid4().hex}")
    try:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, FILE_MODE)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            if durable:
                os.fsync(file.fileno())
        os.replace(temporary, path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise StudioError(
            f"a file could not be written ({error.strerror or error})", do="make room on the disk"
        ) from None
    if durable:
        settle(path.parent)


def link_or_copy(files: Iterable[tuple[Path, Path]]) -> None:
    """The same files under second names, on the same disk without second copies of them.

    Names are brought to the disk folder by folder when all are there: a studio has thousands of files.
    """
    folders: set[Path] = set()
    for source, target in files:
        if target.exists():
            continue
        make_folder(target.parent)
        try:
            os.link(source, target)
        except OSError:
            write_whole(target, source.read_bytes())
        folders.add(target.parent)
    for folder in sorted(folders):
        settle(folder)


def _sound(path: Path, name: str, size: int) -> bool:
    try:
        return path.stat().st_size == size and hash_of(path.read_bytes()) == name
    except OSError:
        return False


def settle(folder: Path) -> None:
    """Bring a folder's names to the disk; systems that cannot do it need not."""
    if not hasattr(os, "O_DIRECTORY"):
        return
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
