"""Opening a stranger's archive: what it may hold, how much, and what its files must be.

Names are only ever looked up in the archive; what is kept of a file is its content, under its hash. Nothing is unpacked to
a disk, and nothing is believed of a size that was not read.
"""

from __future__ import annotations

import json
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, BinaryIO

from passagework.studio.archive_tables import FORMAT, damaged
from passagework.studio.errors import StudioError

MOST_FILES = 400_000
"""Files in an archive: a school's hundred thousand scores with their profiles, and the takes."""

ENTRY_BYTES = 400
"""Of the directory for each file, with a long name."""

MOST_JSON_BYTES = 400_000_000
"""Of one table; pieces take about 2,000 bytes each."""

MOST_PART_BYTES = 8_000_000
"""Of a profile or a result."""

MOST_FILE_BYTES = 512_000_000
"""Of a score or a take."""

_HASH_FILE = re.compile(r"(scores|takes)/([0-9a-f]{64})(\.[a-z0-9]{1,8})?")
_PART = re.compile(r"(profiles|results)/[0-9a-f]{32}\.json")
_TABLE = re.compile(
    r"(manifest|students|pieces|level_lists|studies|lessons|takes|plans|edits|skills|settings)\.json"
)
_FOR_SPREADSHEETS = re.compile(r"tables/[a-z_]{1,40}\.csv|README\.txt")

_END = b"PK\x05\x06"
_END_BYTES = 22
_LONGEST_COMMENT = 65_535


class Bundle:
    """An archive's files, looked up by their names and read within limits."""

    def __init__(self, archive: zipfile.ZipFile) -> None:
        self._archive = archive
        self._members: dict[str, zipfile.ZipInfo] = {}
        for member in archive.infolist():
            name = member.filename
            known = (_HASH_FILE, _PART, _TABLE, _FOR_SPREADSHEETS)
            if not any(pattern.fullmatch(name) for pattern in known):
                raise damaged(name[:80], "this file does not belong in it")
            if name in self._members:
                raise damaged(name, "it is there twice")
            if member.flag_bits & 1:
                raise damaged(name, "it is locked with a password")
            self._members[name] = member

    def has(self, name: str) -> bool:
        """Whether there is such a file."""
        return name in self._members

    def read(self, name: str, limit: int) -> bytes:
        """A file's content; raises `StudioError` where it is missing, damaged or larger than `limit`."""
        member = self._members.get(name)
        if member is None:
            raise damaged(name, "it is missing")
        with _readable(name), self._archive.open(member) as stream:
            data = stream.read(limit + 1)
        if len(data) > limit:
            raise damaged(name, "it is larger than it can be")
        return data

    def json(self, name: str, kind: type, limit: int = MOST_JSON_BYTES) -> Any:
        """A file's JSON, whose outermost value must be of `kind`."""
        data = self.read(name, limit)
        try:
            value = json.loads(data, parse_constant=_no_number)
        except (ValueError, RecursionError):
            raise damaged(name, "it is no JSON") from None
        if not isinstance(value, kind):
            raise damaged(name, "it is not of the right form")
        return value

    def part(self, name: str) -> tuple[int, dict[str, Any]] | None:
        """(version, body) of a profile or a result; None where there is none."""
        if not self.has(name):
            return None
        value = self.json(name, dict, MOST_PART_BYTES)
        version, body = value.get("version"), value.get("body")
        if type(version) is not int or not 0 <= version < 2**31 or not isinstance(body, dict):
            raise damaged(name, "it is not of the right form")
        return version, body

    def file(self, name: Any, folder: str, hash_: str) -> bytes | None:
        """The score or take of a hash under the name that an entry gives; None where it gives none."""
        if name is None:
            return None
        match = _HASH_FILE.fullmatch(name) if isinstance(name, str) else None
        if match is None or match[1] != folder or match[2] != hash_:
            raise damaged(str(name)[:80], "it is not the file that belongs here")
        return self.read(match[0], MOST_FILE_BYTES)


@contextmanager
def opened(file: BinaryIO) -> Iterator[Bundle]:
    """An archive of this project in `file`. Raises `StudioError` for any other."""
    _check_directory(file)
    with _readable("the file"), zipfile.ZipFile(file) as archive:
        bundle = Bundle(archive)
        manifest = bundle.json("manifest.json", dict, MOST_PART_BYTES)
        found = manifest.get("format")
        if found != FORMAT:
            if isinstance(found, str) and found.startswith(FORMAT.split("/")[0]):
                raise StudioError(
                    f"the archive is of the form {found[:40]}, which this version does not know",
                    do="update the program",
                )
            raise damaged("manifest.json", "it is not an archive of a studio")
        yield bundle


@contextmanager
def _readable(name: str) -> Iterator[None]:
    try:
        yield
    except (
        zipfile.BadZipFile,
        zipfile.LargeZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        struct.error,
        OSError,
        ValueError,
        OverflowError,
    ) as error:
        if isinstance(error, RecursionError):
            raise
        raise damaged(name[:80], "it is damaged, cut short or locked") from None


def _check_directory(file: BinaryIO) -> None:
    """Refuse a directory too large to be read whole: the library reads it at once."""
    file.seek(0, 2)
    size = file.tell()
    file.seek(max(0, size - _LONGEST_COMMENT - _END_BYTES))
    tail = file.read()
    at = tail.rfind(_END)
    if at < 0 or len(tail) - at < _END_BYTES:
        raise damaged("the file", "it is not an archive, or is cut short")
    (directory,) = struct.unpack_from("<L", tail, at + 12)
    if directory == 0xFFFFFFFF:
        # Larger than 4 GB: the true size stands elsewhere, and no directory of ours is near it.
        raise damaged("the file", "its directory is larger than it can be")
    if directory > MOST_FILES * ENTRY_BYTES:
        raise damaged("the file", "it holds too many files")
    file.seek(0)


def _no_number(name: str) -> Any:
    raise ValueError(f"{name} is no number")
