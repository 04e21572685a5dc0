"""The real program, served in a process of its own, for the browser tests."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path
from threading import Thread

PATIENCE = 60.0


class Server:
    """``passagework serve`` on a folder; a context manager."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lines: list[str] = []
        self.start()

    def start(self) -> None:
        """Start it, and wait until it says where it is."""
        self.lines.clear()
        self.process = subprocess.Popen(
            [
                sys.executable,
                "-m",
                "passagework",
                "serve",
                "--data",
                str(self.folder),
                "--no-browser",
            ],
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1"},
        )
        Thread(target=self._read, args=(self.process,), daemon=True).start()
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            found = re.search(r"http://127\.0\.0\.1:\d+/", "".join(self.lines))
            if found and self._answers(found[0]):
                self.address = found[0].rstrip("/")
                return
            assert self.process.poll() is None, "".join(self.lines)
            time.sleep(0.05)
        raise AssertionError(f"the server did not start: {self.lines}")

    @staticmethod
    def _answers(address: str) -> bool:
        import httpx

        try:
            return httpx.get(f"{address}static/paper.css", timeout=5).status_code == 200
        except httpx.HTTPError:
            return False

    def _read(self, process: subprocess.Popen[str]) -> None:
        assert process.stdout is not None
        for line in process.stdout:
            self.lines.append(line)

    def kill(self) -> None:
        """End it as a power cut would."""
        self.process.kill()
        self.process.wait()

    def stop(self) -> int:
        """Ctrl-C; gives the exit status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
        return self.process.wait(PATIENCE)

    def __enter__(self) -> Server:
        return self

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.kill()
