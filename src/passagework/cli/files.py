"""Files, the terminal, and the one error that all commands share."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Callable
from pathlib import Path


class UnusableInputError(Exception):
    """Something handed in cannot be used: one line for the person who did."""


def complain(text: str) -> None:
    """One line on stderr, whatever line ends a file's name has in it; nothing where stderr is closed."""
    if sys.stderr is not None:
        print(f"passagework: {' '.join(text.split())}", file=sys.stderr)


def put(text: str) -> None:
    """Write `text` and a line end to standard output; nothing where it is closed."""
    if sys.stdout is None:
        return
    # A name that is not UTF-8 comes from the system as surrogates, which no stream would take.
    data = (text + "\n").encode("utf-8", "surrogateescape")
    try:
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        # What is left in the stream would be tried, and fail, once more at the end of the program.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise UnusableInputError(
            f"standard output cannot be written: {error.strerror or error}"
        ) from None


def bytes_of(path: Path, most: int | None = None) -> bytes:
    """The bytes of a file, and one more than `most` (a score's limit without it) where there are more.

    Raises `UnusableInputError` for a folder, a file that is not there or cannot be read.
    """
    from passagework.score.limits import MAX_FILE_BYTES

    try:
        if path.is_dir():
            raise UnusableInputError(f"{path} is a folder; name one file in it")
        with path.open("rb") as stream:
            return stream.read((most or MAX_FILE_BYTES) + 1)
    except FileNotFoundError:
        raise UnusableInputError(f"there is no file {path}") from None
    except OSError as error:
        raise UnusableInputError(f"{path} cannot be read: {error.strerror or error}") from None


def make_folder(folder: Path) -> None:
    """Make `folder` with all above it. Raises `UnusableInputError` where that cannot be."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise UnusableInputError(f"{folder} cannot be made a folder: {error.strerror}") from None


def progress() -> Callable[[str], None]:
    """Says what is being done, on stderr and only to a terminal."""
    to_terminal = sys.stderr is not None and sys.stderr.isatty()

    def say(text: str) -> None:
        if to_terminal:
            print(f"\r\x1b[K{text}", end="", file=sys.stderr, flush=True)

    return say


def write_file(path: Path, data: bytes) -> None:
    """Write `data` so that `path` holds the old bytes or the new ones, never a part of them.

    A link stays a link, and its target is written; a device or a pipe is written to, not replaced.
    """
    try:
        if path.is_dir():
            raise UnusableInputError(f"{path} is a folder; name a file in it")
        if path.exists() and not path.is_file():
            path.write_bytes(data)
        else:
            _replace(Path(os.path.realpath(path)), data)
    except BrokenPipeError:
        raise
    except OSError as error:
        raise UnusableInputError(f"{path} cannot be written: {error.strerror or error}") from None


def _replace(target: Path, data: bytes) -> None:
    # The draft's name does not contain the target's, which may be as long as a name can be.
    draft = target.with_name(f".passagework-{os.getpid()}.part")
    try:
        draft.write_bytes(data)
        os.replace(draft, target)
    finally:
        with contextlib.suppress(OSError):
            draft.unlink()
