"""Opens compressed MusicXML (`.mxl`): the score inside, and nothing else of the archive."""

from __future__ import annotations

import io
import struct
from typing import TYPE_CHECKING

from passagework.score.errors import ScoreError
from passagework.score.limits import MAX_ARCHIVE_MEMBERS, MAX_FILE_BYTES
from passagework.score.markup import parse_markup

if TYPE_CHECKING:
    import zipfile

CONTAINER = "META-INF/container.xml"

_DIRECTORY_ENTRY = b"PK\x01\x02"

MAX_RATIO = 400
"""Most that deflate gains on the most repetitive real MusicXML is about 60 to 1."""


def open_archive(data: bytes) -> tuple[str, bytes]:
    """(member name, bytes) of the score in an `.mxl` archive.

    The container names the score; without one, the first member that looks like a score is taken.
    Names are only ever looked up in the archive, never on a disk. Raises `ScoreError`.
    """
    import zipfile  # only compressed files pay for loading it
    import zlib

    if data.count(_DIRECTORY_ENTRY) > MAX_ARCHIVE_MEMBERS:
        raise _too_many(data.count(_DIRECTORY_ENTRY))
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = archive.infolist()
            if len(members) > MAX_ARCHIVE_MEMBERS:
                raise _too_many(len(members))
            names = {_plain(member.filename): member for member in members}
            name = _named(archive, names) or _likely(names)
            if name is None:
                raise ScoreError(
                    "the archive holds no score", where=CONTAINER, do="export the score again"
                )
            return name, _read(archive, names[name])
    except (
        zipfile.BadZipFile,
        zlib.error,
        EOFError,
        NotImplementedError,
        RuntimeError,
        OSError,
        ValueError,
        struct.error,
    ):
        raise ScoreError(
            "the compressed file is damaged, cut short or locked", do="export it again"
        ) from None


def _too_many(count: int) -> ScoreError:
    return ScoreError(
        f"the archive holds {count} files, more than a score needs",
        do="send the .mxl that the notation program wrote",
    )


def _plain(path: str) -> str:
    r"""A path within the archive as most programs write it: ``/a``, ``./a`` and ``.\\a`` are ``a``."""
    parts = path.replace("\\", "/").split("/")
    return "/".join(part for part in parts if part not in {"", "."})


def _named(archive: zipfile.ZipFile, names: dict[str, zipfile.ZipInfo]) -> str | None:
    if CONTAINER not in names:
        return None
    root = parse_markup(_read(archive, names[CONTAINER]), name=CONTAINER)
    for rootfile in root.iter("rootfile"):
        kind = rootfile.get("media-type", "")
        path = _plain(rootfile.get("full-path", ""))
        if path in names and (not kind or "musicxml" in kind or "xml" in kind):
            return path
    return None


def _likely(names: dict[str, zipfile.ZipInfo]) -> str | None:
    inside = [name for name in names if not name.upper().startswith("META-INF/")]
    for endings in ((".musicxml",), (".xml",), (".mei", ".mxml", ".krn", ".mid", ".midi")):
        for name in inside:
            if name.lower().endswith(endings):
                return name
    return None


def _read(archive: zipfile.ZipFile, member: zipfile.ZipInfo) -> bytes:
    """Unpack one member, stopping at the limit whatever its header claims."""
    limit = min(MAX_FILE_BYTES, max(member.compress_size, 64) * MAX_RATIO)
    with archive.open(member) as stream:
        data = stream.read(limit + 1)
    if len(data) > limit:
        raise ScoreError(
            "a file in the archive unpacks to more than a score can be",
            where=member.filename[:80],
            do="export the score again",
        )
    return data
