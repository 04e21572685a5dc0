"""A cache of what takes long to compute. Safe to delete at any time; nothing else is kept only here.

Files are named by a hash of their key and begin with a hash of their content, so that one that a crash left torn counts
as missing. When the folder grows over its limit, what was not asked for longest goes first.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import threading
from dataclasses import astuple, dataclass
from pathlib import Path

from passagework import __version__
from passagework.studio.blobs import make_folder, write_whole
from passagework.studio.errors import StudioError

MOST_BYTES = 1_000_000_000
"""Engraved pages and sound of some three hundred pieces."""

KEPT_SHARE = 0.8
"""Share of the limit that is left when room is made, so that it is not made at every turn."""

_DIGEST = hashlib.sha256().digest_size


@dataclass(frozen=True, slots=True)
class ComputedKey:
    """What was computed, of which piece, for which hand, by which version of the program."""

    piece_hash: str
    what: str
    """``"page/2"``, ``"spots"``; with a digest of the edits where the result depends on them."""
    hand: str = ""
    version: str = __version__

    @property
    def name(self) -> str:
        """The file's name."""
        return hashlib.sha256("\0".join(map(repr, astuple(self))).encode()).hexdigest()


class Computed:
    """The cache; safe to use from several threads and programs."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self.folder = folder
        self.most_bytes = most_bytes
        self._lock = threading.Lock()
        self._bytes: int | None = None

    def get(self, key: ComputedKey) -> bytes | None:
        """What was put under `key`, or None."""
        path = self._path(key)
        try:
            held = path.read_bytes()
            data = held[_DIGEST:]
            if hashlib.sha256(data).digest() != held[:_DIGEST]:
                path.unlink(missing_ok=True)
                return None
            os.utime(path)
        except OSError:
            return None
        return data

    def put(self, key: ComputedKey, data: bytes) -> None:
        """Keep `data` for a while. A full disk is no error here: it is computed again next time."""
        path = self._path(key)
        try:
            make_folder(path.parent)
            write_whole(path, hashlib.sha256(data).digest() + data, durable=False)
        except (OSError, StudioError):
            return
        with self._lock:
            self._bytes = self._measure() if self._bytes is None else self._bytes + len(data)
            if self._bytes > self.most_bytes:
                self._bytes = self._make_room()

    def clear(self) -> None:
        """Take everything away."""
        with self._lock:
            shutil.rmtree(self.folder, ignore_errors=True)
            self._bytes = None

    def size(self) -> int:
        """Bytes held."""
        with self._lock:
            return self._measure()

    def _path(self, key: ComputedKey) -> Path:
        return self.folder / key.name[:2] / key.name

    def _files(self) -> list[tuple[float, int, Path]]:
        found = []
        for path in self.folder.glob("??/*"):
            try:
                state = path.stat()
            except OSError:
                continue
            found.append((state.st_mtime, state.st_size, path))
        return sorted(found)

    def _measure(self) -> int:
        return sum(size for _, size, _ in self._files())

    def _make_room(self) -> int:
        files = self._files()
        held = sum(size for _, size, _ in files)
        for _, size, path in files:
            if held <= self.most_bytes * KEPT_SHARE:
                break
            path.unlink(missing_ok=True)
            held -= size
        return held
