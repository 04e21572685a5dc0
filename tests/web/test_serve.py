"""The command that opens the page: one server for a studio, on this machine alone, and an end that loses nothing."""

from __future__ import annotations

import os
import socket
import subprocess
import sys
import threading
from pathlib import Path
from urllib.parse import urlsplit

import httpx
import pytest

from passagework.web.lock import Lock, LockedError
from passagework.web.places import default_folder
from tests.browser.studio_server import Server


def command(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "passagework", "serve", "--no-browser", *arguments],
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
        env={**os.environ, **environment},
    )


def student_names(server: Server) -> str:
    return httpx.get(f"{server.address}/students", headers={"accept": "text/html"}).text


def write_down(server: Server, name: str) -> None:
    """Write a student down as a browser does, without scripts."""
    import re

    with httpx.Client(base_url=server.address) as client:
        page = client.get("/students/new").text
        token = re.search(r'name="token" value="(\w+)"', page)
        assert token
        answer = client.post(
            "/students", data={"token": token[1], "name": name}, headers={"origin": server.address}
        )
        assert answer.status_code == 303


def test_an_evening_with_a_power_cut(tmp_path: Path) -> None:
    """Started, written to, killed, started again, stopped: on the same port, with everything there."""
    folder = tmp_path / "studio"
    with Server(folder) as server:
        first = server.address
        port = urlsplit(first).port
        assert port
        write_down(server, "Mila")
        second = command("--data", str(folder))
        assert (second.returncode, first in second.stdout) == (0, True)
        assert "open already" in second.stdout
        with pytest.raises(OSError, match="refused"):
            socket.create_connection(("127.0.0.2", port), timeout=5)
        taken = command("--data", str(tmp_path / "other"), "--port", str(port))
        assert taken.returncode == 1
        assert f"port {port} cannot be used" in taken.stderr
        assert (folder / "page.key").stat().st_mode & 0o777 == 0o600
        assert folder.stat().st_mode & 0o077 == 0
        server.kill()
        server.start()
        assert server.address == first
        assert "Mila" in student_names(server)
        assert server.stop() == 0
        assert "Traceback" not in "".join(server.lines)


def test_it_is_killed_while_it_writes_and_nothing_that_was_confirmed_is_lost(
    tmp_path: Path,
) -> None:
    with Server(tmp_path / "studio") as server:
        for round_ in range(2):
            told: list[str] = []

            def write(round_: int = round_, told: list[str] = told) -> None:
                for number in range(1000):
                    name = f"S{round_}-{number}."
                    try:
                        write_down(server, name)
                    except (httpx.HTTPError, AssertionError):
                        return
                    told.append(name)

            writer = threading.Thread(target=write)
            writer.start()
            while len(told) < 3:
                writer.join(0.01)
            server.kill()
            writer.join()
            server.start()
            page = student_names(server)
            assert [name for name in told if name not in page] == []


def test_a_folder_that_cannot_be_one_is_one_line(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("x")
    for place in (file, file / "below"):
        done = command("--data", str(place))
        assert done.returncode == 1
        assert done.stderr.count("\n") == 1
        assert "cannot be" in done.stderr


@pytest.mark.parametrize("port", ["0", "65536", "-1", "http", "٣"])
def test_a_port_is_a_port(port: str) -> None:
    done = command(f"--port={port}")
    assert done.returncode == 2
    assert "is not a port" in done.stderr


def test_a_lock_is_held_by_one_and_says_where(tmp_path: Path) -> None:
    one, two = Lock(tmp_path), Lock(tmp_path)
    assert one.take() == ""
    one.write("http://127.0.0.1:8000/")
    with pytest.raises(LockedError, match="8000"):
        two.take()
    one.release()
    assert two.take() == "http://127.0.0.1:8000/"
    two.release()


@pytest.mark.parametrize(
    ("platform", "environ", "expected"),
    [
        ("linux", {}, "/h/.local/share/passagework"),
        ("linux", {"XDG_DATA_HOME": "/x"}, "/x/passagework"),
        ("linux", {"XDG_DATA_HOME": "relative"}, "/h/.local/share/passagework"),
        ("darwin", {"XDG_DATA_HOME": "/x"}, "/h/Library/Application Support/passagework"),
        ("win32", {"LOCALAPPDATA": "/l"}, "/l/passagework"),
    ],
)
def test_the_folder_is_where_the_system_has_such_things(
    platform: str, environ: dict[str, str], expected: str
) -> None:
    assert default_folder(environ, platform, Path("/h")).as_posix() == expected
