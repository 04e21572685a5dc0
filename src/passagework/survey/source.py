"""Where scores come from: a folder, or any address that fsspec knows."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, NamedTuple

from passagework.score.limits import MAX_FILE_BYTES
from passagework.survey.errors import SurveyError

SUFFIXES: Final = frozenset(
    {".musicxml", ".xml", ".mxl", ".mei", ".krn", ".kern", ".abc", ".mid", ".midi"}
)
"""What the names of scores end with; other files are passed over, and so are hidden ones."""

NANOSECONDS: Final = 1_000_000_000

TIMES: Final = ("mtime", "LastModified", "last_modified", "updated", "modified", "created")
"""What file systems call the time of the last change, the surest first."""


class Entry(NamedTuple):
    """A score that was found."""

    path: str
    """Below the root, with ``/``, as text that can be written; what rows are ordered by."""
    name: str
    """The same as the file system has it."""
    size: int
    modified: int | None
    """Nanoseconds; None where it is not known."""


@dataclass(frozen=True)
class Source:
    """A folder of scores."""

    address: str
    """As it was asked for, made absolute where it is a folder of this machine."""
    root: str
    local: bool
    shared: bool
    """Whether another process can read a file by its address."""
    file_system: Any

    def entries(self) -> list[Entry]:
        """Every score below the root, by path. Raises `SurveyError` where the root cannot be read."""
        found = self._local() if self.local else self._remote()
        return sorted(found, key=lambda entry: entry.path)

    def location(self, entry: Entry) -> str:
        """What `read_location` takes."""
        path = f"{self.root.rstrip('/')}/{entry.name}"
        return path if self.local else str(self.file_system.unstrip_protocol(path))

    def bytes_of(self, entry: Entry) -> bytes:
        """The bytes of a score, of which no other process knows. Raises `OSError`."""
        path = f"{self.root.rstrip('/')}/{entry.name}"
        return bytes(self.file_system.cat_file(path, 0, MAX_FILE_BYTES + 1))

    def _local(self) -> Iterator[Entry]:
        def stop(error: OSError) -> None:
            if os.path.realpath(error.filename) == os.path.realpath(self.root):
                raise SurveyError(f"{self.address} cannot be read: {error.strerror or error}")

        for folder, folders, files in os.walk(self.root, onerror=stop):
            folders[:] = [name for name in folders if not name.startswith(".")]
            for name in files:
                if not is_score(name):
                    continue
                path = os.path.join(folder, name)
                try:
                    about = os.stat(path)
                except OSError:  # a link to nowhere is told of when it is read
                    yield self._entry(path, 0, None)
                    continue
                if stat.S_ISREG(about.st_mode):
                    yield self._entry(path, about.st_size, about.st_mtime_ns)

    def _remote(self) -> Iterator[Entry]:
        try:
            for _, _, files in self.file_system.walk(self.root, detail=True):
                for name, about in files.items():
                    if is_score(name):
                        yield self._entry(about["name"], int(about.get("size") or 0), _time(about))
        except OSError as error:
            raise SurveyError(f"{self.address} cannot be read: {error}") from None

    def _entry(self, path: str, size: int, modified: int | None) -> Entry:
        name = os.path.relpath(path, self.root) if self.local else _below(self.root, path)
        name = name.replace(os.sep, "/") if self.local else name
        try:
            name.encode()
            return Entry(name, name, size, modified)
        except UnicodeEncodeError:
            shown = os.fsencode(name).decode("utf-8", "backslashreplace")
            return Entry(shown, name, size, modified)


def open_source(address: str) -> Source:
    """The folder of an address: a path, or ``file://``, ``memory://``, ``s3://`` and so on. Raises `SurveyError`."""
    from fsspec.core import url_to_fs
    from fsspec.implementations.local import LocalFileSystem

    if "://" not in address:
        root = os.path.abspath(address)
        if not os.path.isdir(root):
            raise SurveyError(f"there is no folder {address}")
        return Source(root, root, True, True, None)
    try:
        file_system, root = url_to_fs(address)
        there = file_system.isdir(root)
    except (ImportError, ValueError, OSError) as error:
        line = " ".join(str(error).split())
        raise SurveyError(f"{address} cannot be opened: {line}") from None
    if not there:
        raise SurveyError(f"there is no folder {address}")
    if isinstance(file_system, LocalFileSystem):
        return Source(root, root, True, True, None)
    shared = "::" not in address and not address.startswith("memory:")
    return Source(address, root, False, shared, file_system)


def read_location(location: str) -> bytes:
    """The bytes of a score, and one more than a score may have where there are more. Raises `OSError`."""
    if "://" not in location:
        with open(location, "rb") as stream:
            return stream.read(MAX_FILE_BYTES + 1)
    import fsspec

    with fsspec.open(location, "rb") as stream:
        return bytes(stream.read(MAX_FILE_BYTES + 1))


def is_score(name: str) -> bool:
    """Whether a file of that name is taken for a score."""
    base = name.rsplit("/", 1)[-1]
    return not base.startswith(".") and os.path.splitext(base)[1].lower() in SUFFIXES


def _below(root: str, path: str) -> str:
    root = root.strip("/")
    path = path.strip("/")
    return path[len(root) :].lstrip("/") if root and path.startswith(root) else path


def _time(about: Any) -> int | None:
    for key in TIMES:
        value = about.get(key)
        if isinstance(value, datetime):
            return round(value.timestamp() * 1_000_000) * 1000
        if isinstance(value, int | float) and not isinstance(value, bool):
            return int(value * NANOSECONDS)
    return None
