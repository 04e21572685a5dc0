"""What has been measured so far, kept beside the table that is to be: a line for every score, written as it comes.

The first line says what the rows hold for. Lines are only ever added, each in one write, so that a run which is killed loses at
most a line that was half written; it is cut off when the run goes on.
"""

from __future__ import annotations

import json
import os
from array import array
from bisect import bisect_left
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

from passagework.survey.columns import names
from passagework.survey.row import Row
from passagework.survey.source import Entry

NOTHING: Final = -1

KEPT: Final = "kept"
"""Marks the line of a score whose bytes are those of the earlier survey, with the time of its last change."""


class Journal:
    """The journal of one survey over one listing of scores."""

    def __init__(self, path: Path, head: Mapping[str, Any], entries: Sequence[Entry]) -> None:
        self._path = path
        self._entries = entries
        self._names = names()
        self._head = {**head, "columns": list(self._names)}
        self.offsets = array("q", [NOTHING]) * len(entries)
        """For each entry where its line begins; `NOTHING` where there is none."""
        self.resumed = 0
        """Scores that an earlier run had left in it."""
        self._file = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
        self._end = self._take_up()
        os.ftruncate(self._file, self._end)
        if not self._end:
            self._write(self._head)

    def _take_up(self) -> int:
        """Read what is there; gives where the next line goes, 0 where nothing there holds for this survey."""
        with open(self._path, "rb") as stream:
            head = stream.readline()
            if not head.endswith(b"\n") or _decoded(head) != self._head:
                return 0
            at = len(head)
            for line in stream:
                if not line.endswith(b"\n"):
                    break
                self._note(_decoded(line), at)
                at += len(line)
        return at

    def _note(self, value: Any, at: int) -> None:
        """Remember the line at `at` if its score is still there and has not been changed since."""
        kept = isinstance(value, dict) and KEPT in value
        if not kept and not (isinstance(value, list) and len(value) == len(self._names)):
            return
        row = value if kept else dict(zip(self._names, value, strict=True))
        index = self.index(row[KEPT] if kept else row["path"])
        if index is None:
            return
        entry = self._entries[index]
        if entry.modified is None or entry.modified != row["modified"]:
            return
        if entry.size != row["size"]:
            return
        self.resumed += self.offsets[index] == NOTHING
        self.offsets[index] = at

    def index(self, path: str) -> int | None:
        """Place of a path in the listing."""
        at = bisect_left(self._entries, path, key=lambda entry: entry.path)
        found = at < len(self._entries) and self._entries[at].path == path
        return at if found else None

    def add(self, index: int, row: Row | None) -> None:
        """Write down what was found of an entry: its row, or None where it is the one of the earlier survey."""
        entry = self._entries[index]
        at = self._end
        if row is None:
            self._write({KEPT: entry.path, "size": entry.size, "modified": entry.modified})
        else:
            self._write([row.get(name) for name in self._names])
        self.offsets[index] = at

    def _write(self, value: Any) -> None:
        data = (json.dumps(value, ensure_ascii=False, separators=(",", ":")) + "\n").encode()
        os.lseek(self._file, self._end, os.SEEK_SET)
        written = 0
        while written < len(data):  # a full disk may take a part
            written += os.write(self._file, data[written:])
        self._end += len(data)

    def line(self, index: int) -> Any:
        """What is written down of an entry: a list of values in the order of the columns, or a dict with `KEPT`."""
        os.lseek(self._file, self.offsets[index], os.SEEK_SET)
        with os.fdopen(os.dup(self._file), "rb") as stream:
            return json.loads(stream.readline())

    def sync(self) -> None:
        """Have it on the disk."""
        os.fsync(self._file)

    def close(self) -> None:
        """Close it; it stays."""
        os.close(self._file)

    def remove(self) -> None:
        """Close it, and take it away: the table has everything."""
        self.close()
        self._path.unlink(missing_ok=True)


def _decoded(line: bytes) -> Any:
    try:
        return json.loads(line)
    except ValueError:
        return None
