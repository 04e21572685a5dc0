"""Running the page: a folder, a lock, a port, a browser, and a stop that leaves nothing half done."""

from __future__ import annotations

import contextlib
import os
import secrets
import socket
import threading
import time
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

from passagework.web.lock import Lock, LockedError
from passagework.web.places import default_folder
from passagework.web.settings import Settings

if TYPE_CHECKING:
    from uvicorn import Server

KEY_FILE: Final = "page.key"
KEY_BYTES: Final = 32
PATIENCE: Final = 15.0
"""Seconds that open requests have to end after Ctrl-C, and that the browser waits for the server."""


class ServeError(Exception):
    """The page cannot be opened: one line that says why."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the command line asks for."""

    folder: Path | None = None
    port: int | None = None
    browser: bool = True


def serve(wanted: Wanted, say: Callable[[str], None]) -> None:
    """Open the page and keep it open until it is told to stop. Raises `ServeError`."""
    folder = wanted.folder or default_folder()
    _make(folder)
    lock = Lock(folder)
    try:
        last = lock.take()
    except LockedError as error:
        if not error.address:
            raise ServeError(f"{error}; stop the other one first") from None
        say(f"This studio is open already at {error.address}")
        if wanted.browser:
            webbrowser.open(error.address)
        return
    except OSError as error:
        raise ServeError(f"{folder} cannot be used: {error.strerror or error}") from None
    try:
        with _socket(wanted.port, last) as listening:
            settings = Settings(listening.getsockname()[1], secret=_key(folder / KEY_FILE))
            lock.write(settings.address)
            _run(folder, settings, listening, wanted.browser, say)
    finally:
        lock.release()


def _run(
    folder: Path,
    settings: Settings,
    listening: socket.socket,
    browser: bool,
    say: Callable[[str], None],
) -> None:
    import uvicorn

    from passagework.studio.errors import StudioError
    from passagework.studio.studio import open_studio
    from passagework.web.app import create_app

    try:
        studio = open_studio(folder)
    except StudioError as error:
        raise ServeError(str(error)) from None
    app = create_app(studio, settings)
    config = uvicorn.Config(
        app,
        log_level="warning",
        access_log=False,
        server_header=False,
        proxy_headers=False,
        ws="none",
        timeout_graceful_shutdown=int(PATIENCE),
    )
    server = uvicorn.Server(config)
    say(f"Passagework is at {settings.address}  (Ctrl-C stops it; all is kept in {folder})")
    app.state.jobs.warm()
    if browser:
        threading.Thread(target=_open_browser, args=(server, settings), daemon=True).start()
    try:
        # After the last request has ended, the server hands on the Ctrl-C that stopped it.
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listening])
    finally:
        app.state.jobs.close()
        studio.close()


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise ServeError(f"{folder} cannot be made a folder: {error.strerror or error}") from None


def _key(path: Path) -> bytes:
    """The key that signs tokens, made at the first start, for its owner to read alone."""
    try:
        key = path.read_bytes()
        if len(key) == KEY_BYTES:
            return key
        path.unlink()
    except FileNotFoundError:
        pass
    key = secrets.token_bytes(KEY_BYTES)
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(key)
    return key


def _socket(port: int | None, last: str) -> socket.socket:
    """Listening on 127.0.0.1: on `port`, else on the last one (so that bookmarks hold), else on a free one."""
    if port is not None:
        try:
            return _bound(port)
        except OSError as error:
            raise ServeError(
                f"port {port} cannot be used ({error.strerror or error}); leave --port out for a free one"
            ) from None
    with contextlib.suppress(OSError, ValueError):
        if before := urlsplit(last).port:
            return _bound(before)
    return _bound(0)


def _bound(port: int) -> socket.socket:
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    try:
        if os.name == "posix":
            # A port that was served from a moment ago may be taken again.
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        made.bind(("127.0.0.1", port))
        made.listen(128)
    except OSError:
        made.close()
        raise
    return made


def _open_browser(server: Server, settings: Settings) -> None:
    end = time.monotonic() + PATIENCE
    while not server.started and time.monotonic() < end:
        time.sleep(0.05)
    if server.started:
        webbrowser.open(settings.address)
