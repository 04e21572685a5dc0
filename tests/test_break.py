"""What a hostile shell hands to the command line: odd targets, closed streams, odd names, Ctrl-C."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from importlib.resources import files
from pathlib import Path

import pytest

from passagework.cli.files import UnusableInputError, write_file

DEMO = str(files("passagework.demo").joinpath("paper-boat.musicxml"))
posix = pytest.mark.skipif(os.name != "posix", reason="needs the files of a POSIX system")


def run(*arguments: str, cwd: Path, shell: str = "") -> subprocess.CompletedProcess[str]:
    """The command; `shell` is what a shell would say behind it, such as ``>&-``."""
    command = [sys.executable, "-m", "passagework", *arguments]
    if shell:
        command = ["sh", "-c", f'"$@" {shell}', "sh", *command]
    return subprocess.run(command, capture_output=True, text=True, cwd=cwd, check=False)


@posix
def test_a_link_stays_a_link_and_its_target_is_written(tmp_path: Path) -> None:
    (tmp_path / "real").write_bytes(b"old")
    (tmp_path / "link").symlink_to("real")
    write_file(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "real").read_bytes() == b"new"
    assert len(list(tmp_path.iterdir())) == 2


@posix
def test_a_pipe_is_written_to_and_not_replaced(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)
    try:
        write_file(pipe, b"through")
        assert os.read(reader, 100) == b"through"
    finally:
        os.close(reader)
    assert pipe.is_fifo()


def test_the_longest_name_can_be_written(tmp_path: Path) -> None:
    target = tmp_path / ("x" * 250)
    write_file(target, b"data")
    assert list(tmp_path.iterdir()) == [target]


@pytest.mark.parametrize("name", ["", ".", "..", "/", "file/x.json", "none/x.json", "y" * 400])
def test_a_target_that_cannot_be_is_said_so(
    tmp_path: Path, name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_bytes(b"kept")
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UnusableInputError):
        write_file(Path(name), b"data")
    assert [p.read_bytes() for p in tmp_path.iterdir()] == [b"kept"]


def test_a_failed_write_leaves_the_old_bytes_and_no_draft(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "guide.html"
    target.write_bytes(b"old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(UnusableInputError, match="No space left"):
        write_file(target, b"new")
    assert [p.read_bytes() for p in tmp_path.iterdir()] == [b"old"]


@posix
@pytest.mark.parametrize(
    ("shell", "status", "says"),
    [(">&-", 0, ""), ("2>&-", 0, ""), (">/dev/full", 1, "cannot be written")],
)
def test_closed_and_full_streams(tmp_path: Path, shell: str, status: int, says: str) -> None:
    if "/dev/full" in shell and not Path("/dev/full").exists():
        pytest.skip("no /dev/full here")
    done = run("read", DEMO, "--json", "-", cwd=tmp_path, shell=shell)
    assert done.returncode == status, done.stderr
    assert len(done.stderr.splitlines()) == bool(says)
    assert says in done.stderr
    assert "fault of the program" not in done.stderr


def test_a_line_end_in_a_name_makes_no_second_line(tmp_path: Path) -> None:
    done = run("read", "a\nb.musicxml", "--json", "-", cwd=tmp_path)
    assert done.returncode == 1
    assert done.stderr == "passagework: there is no file a b.musicxml\n"


@pytest.mark.parametrize("name", [["Ada"], {"first": "Ada"}, 7, "half \ud800"])
def test_a_student_whose_name_is_no_text_is_refused(tmp_path: Path, name: object) -> None:
    (tmp_path / "student.json").write_text(json.dumps({"name": name}))
    done = run("read", DEMO, "--json", "-", "--student", "student.json", cwd=tmp_path)
    assert (done.returncode, done.stdout) == (1, "")
    assert "name in student.json must be a text" in done.stderr


def test_a_student_without_a_name_is_nobody_in_particular(tmp_path: Path) -> None:
    (tmp_path / "student.json").write_text('{"name": null}')
    done = run("guide", DEMO, "--out", "out", "--student", "student.json",
               "--exercises", "none", cwd=tmp_path)  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert json.loads((tmp_path / "out" / "guide.json").read_text())["student"] == ""


@posix
@pytest.mark.parametrize("seconds", [0.0, 0.5, 1.5])
def test_an_interrupted_guide_leaves_nothing_half_written(tmp_path: Path, seconds: float) -> None:
    process = subprocess.Popen(
        [sys.executable, "-m", "passagework", "guide", DEMO, "--out", "out"],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    # The folder is made once the score is read: a moment that does not hang on how fast the machine is.
    while not (tmp_path / "out").exists() and process.poll() is None:
        time.sleep(0.01)
    time.sleep(seconds)
    process.send_signal(signal.SIGINT)
    _, complaint = process.communicate(timeout=30)
    # Python ends by the signal itself where it came while classes were being made; a shell says 130 then too.
    assert process.returncode in {0, 130, -signal.SIGINT}
    if complaint:
        assert complaint == "passagework: stopped; nothing half-written is left\n"
    assert [p for p in tmp_path.rglob("*") if p.suffix == ".part"] == []
