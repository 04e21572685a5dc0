"""One server for one studio: a lock that the system takes back when its holder dies, however it dies."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path
from typing import IO, Final

FILE: Final = "serving.lock"


class LockedError(Exception):
    """Another server has the studio open; `address` is where, empty where it does not say."""

    def __init__(self, address: str) -> None:
        self.address = address
        super().__init__(f"this studio is open already{f' at {address}' if address else ''}")


class Lock:
    """Holds the lock from `take` to `release`."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / FILE
        self._stream: IO[bytes] | None = None

    def take(self) -> str:
        """Take the lock; gives the address that the last holder had written down. Raises `LockedError`."""
        # Opened for appending: whoever comes too late must not empty what the holder wrote.
        descriptor = os.open(self._path, os.O_RDWR | os.O_CREAT, 0o600)
        stream = os.fdopen(descriptor, "r+b", buffering=0)
        last = stream.read(200).decode("ascii", "replace").strip("\0 \n")
        try:
            _lock(stream)
        except OSError:
            stream.close()
            raise LockedError(last) from None
        self._stream = stream
        return last

    def write(self, address: str) -> None:
        """Write down where the server is, for whoever comes too late."""
        assert self._stream is not None
        self._stream.seek(0)
        self._stream.truncate()
        self._stream.write(address.encode("ascii"))

    def release(self) -> None:
        """Give the lock back."""
        stream, self._stream = self._stream, None
        if stream is not None:
            stream.close()


if sys.platform == "win32":
    import msvcrt

    _PLACE: Final = 1 << 30
    """A byte far behind the address: Windows lets nobody read the bytes that are locked."""

    def _lock(stream: IO[bytes]) -> None:
        stream.seek(_PLACE)
        msvcrt.locking(stream.fileno(), msvcrt.LK_NBLCK, 1)
        with contextlib.suppress(OSError):
            stream.seek(0)

else:
    import fcntl

    def _lock(stream: IO[bytes]) -> None:
        fcntl.flock(stream.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)
