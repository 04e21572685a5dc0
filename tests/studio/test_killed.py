"""Killed at any moment, a studio opens again with everything that it had called kept, and with nothing half."""

from __future__ import annotations

import random
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from passagework.studio.database import FILE_NAME
from passagework.studio.studio import Studio, open_studio
from tests.conftest import ROOT

KILLS = 4
LONGEST_SECONDS = 1.2


def kill_while_writing(folder: Path, run: int, seconds: float) -> list[tuple[str, str, int]]:
    """What a writer had promised when it was killed, some time after its first words."""
    writer = subprocess.Popen(
        [sys.executable, "-m", "tests.studio.writing", str(folder), str(run)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    assert writer.stdout is not None
    first = writer.stdout.readline()
    time.sleep(seconds)
    writer.send_signal(signal.SIGKILL)
    rest = writer.stdout.read()
    assert writer.wait() == -signal.SIGKILL
    promised = []
    for line in (first + rest).splitlines(keepends=True):
        if line.endswith("\n"):  # the last may be cut in the middle
            kind, mark, number = line.split()
            promised.append((kind, mark, int(number)))
    return promised


def check(studio: Studio, promised: list[tuple[str, str, int]]) -> None:
    undone = {number for kind, _, number in promised if kind == "undone"}
    for kind, mark, number in promised:
        if kind == "piece":
            assert studio.pieces.get(number).title == mark
            assert studio.pieces.score(number) == f"score of {mark}".encode()
        elif kind == "take":
            assert studio.takes.get(number).notes == mark
            assert studio.takes.file(number) == f"take {mark}".encode() * 2000
        elif kind == "edit" and number not in undone:
            try:
                assert studio.edits.get(number).payload == {"text": mark}
            except Exception:
                # The undoing may have been kept before it was said.
                assert any(e.label.startswith("Took back") for e in studio.undo.recent(3))


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="this system has no SIGKILL")
def test_killed_at_any_moment(tmp_path: Path) -> None:
    folder = tmp_path / "studio"
    luck = random.Random(20260302)
    promised: list[tuple[str, str, int]] = []
    for run in range(KILLS):
        promised += kill_while_writing(folder, run, luck.uniform(0.0, LONGEST_SECONDS))
        with open_studio(folder) as studio:
            check(studio, promised)
            for piece in studio.pieces.all():  # nothing is there that is not whole
                assert studio.pieces.score(piece.id)
            for take in studio.takes.to_hear():
                assert studio.takes.file(take.id)
            scores = {p.hash for p in studio.pieces.all()}
            assert {p.name for p in (folder / "scores").glob("??/*")} == scores
            for backup in studio.backups.all():
                with closing(sqlite3.connect(studio.backups.path(backup.name))) as copy:
                    assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        with closing(sqlite3.connect(folder / FILE_NAME)) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            assert connection.execute("PRAGMA foreign_key_check").fetchall() == []
    assert len({mark for _, mark, _ in promised}) > KILLS  # or nothing was written at all
    with open_studio(folder) as studio:
        backups = [b for b in studio.backups.all() if b.reason == "by-hand"]
        if backups:
            studio.backups.restore(backups[0].name)
            for piece in studio.pieces.all():
                assert studio.pieces.score(piece.id)
