"""The command line as a promise: exit statuses, one clear line, nothing outside --out."""

from __future__ import annotations

import json
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest

DEMO = Path(str(files("passagework.demo").joinpath("evening-ferry.musicxml")))


def passagework(*arguments: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "passagework", *arguments],
        capture_output=True,
        text=True,
        cwd=cwd,
        check=False,
    )


def test_help_names_the_commands() -> None:
    done = passagework("--help")
    assert done.returncode == 0
    assert "guide" in done.stdout
    assert "read" in done.stdout


def test_read_gives_the_promised_document(tmp_path: Path) -> None:
    target = tmp_path / "reading.json"
    done = passagework("read", str(DEMO), "--json", str(target))
    assert (done.returncode, done.stderr) == (0, "")
    document = json.loads(target.read_text())
    assert document["format"] == "passagework.reading/1"
    note = document["notes"][0]
    assert set(note) == {
        "id", "bar", "onset", "duration", "pitch", "spelled", "staff", "voice", "hand", "melody",
        "grace", "finger",
    }  # fmt: skip
    assert list(tmp_path.iterdir()) == [target]


def test_read_to_standard_output_is_the_same(tmp_path: Path) -> None:
    target = tmp_path / "reading.json"
    passagework("read", str(DEMO), "--json", str(target))
    assert passagework("read", str(DEMO), "--json", "-").stdout == target.read_text()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "empty"),
        (b"<score-partwise", "not well-formed"),
        (b"<html><body/></html>", "not a score"),
        (b"PK\x03\x04 not really", "damaged"),
        (b"\x00\x01\x02\x03" * 50, "passagework:"),
    ],
)
def test_an_unusable_file_is_one_line_and_status_1(
    tmp_path: Path, content: bytes, says: str
) -> None:
    score = tmp_path / "bad.musicxml"
    score.write_bytes(content)
    done = passagework("guide", str(score), "--out", str(tmp_path / "out"))
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr
    assert "Traceback" not in done.stderr


def test_a_missing_file_is_one_line(tmp_path: Path) -> None:
    done = passagework("read", str(tmp_path / "none.xml"), "--json", "-")
    assert done.returncode == 1
    assert done.stderr.startswith("passagework: there is no file")


@pytest.mark.parametrize(
    "arguments",
    [
        [],
        ["guide"],
        ["guide", str(DEMO)],
        ["guide", str(DEMO), "--out", "x", "--reach", "three"],
        ["guide", str(DEMO), "--out", "x", "--reach", "300"],
        ["unknown"],
    ],
)
def test_wrong_arguments_are_status_2(arguments: list[str], tmp_path: Path) -> None:
    done = passagework(*arguments, cwd=tmp_path)
    assert done.returncode == 2
    assert list(tmp_path.iterdir()) == []


def test_guide_writes_three_files_and_nothing_else(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    done = passagework("guide", str(DEMO), "--out", str(out), "--reach", "18.5", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert sorted(p.name for p in out.iterdir()) == ["guide.html", "guide.json", "guide.pdf"]
    assert [p.name for p in tmp_path.iterdir()] == ["deep"]
    assert (out / "guide.pdf").read_bytes().startswith(b"%PDF")
    assert json.loads((out / "guide.json").read_text())["reach_cm"] == 18.5


def test_a_student_file_gives_name_and_reach(tmp_path: Path) -> None:
    student = tmp_path / "student.json"
    student.write_text(json.dumps({"name": "Ottilie Brandt", "reach_cm": 16.5}))
    out = tmp_path / "out"
    done = passagework("guide", str(DEMO), "--out", str(out), "--student", str(student))
    assert done.returncode == 0, done.stderr
    guide = json.loads((out / "guide.json").read_text())
    assert (guide["student"], guide["reach_cm"]) == ("Ottilie Brandt", 16.5)
    assert "for Ottilie Brandt" in (out / "guide.html").read_text()


@pytest.mark.parametrize("text", ["{", "[]", '{"reach_cm": "wide"}', '{"reach_cm": 1e9}'])
def test_a_bad_student_file_is_one_line(tmp_path: Path, text: str) -> None:
    student = tmp_path / "student.json"
    student.write_text(text)
    done = passagework("read", str(DEMO), "--json", "-", "--student", str(student))
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1


def test_finger_puts_a_number_on_every_note(tmp_path: Path) -> None:
    from passagework.score import read_score

    target = tmp_path / "fingered.musicxml"
    done = passagework("finger", str(DEMO), "--out", str(target), "--reach", "18.5")
    assert done.returncode == 0, done.stderr
    piece = read_score(target.read_bytes()).piece
    assert [n.id for n in piece.notes if n.printed and not n.fingers] == []


def test_finger_for_one_hand_leaves_the_other_as_it_was(tmp_path: Path) -> None:
    from passagework.score import read_score

    target = tmp_path / "fingered.musicxml"
    passagework("finger", str(DEMO), "--out", str(target), "--hand", "left")
    before = read_score(DEMO.read_bytes()).piece
    after = read_score(target.read_bytes()).piece
    for old, new in zip(before.notes, after.notes, strict=True):
        if old.hand == "right":
            assert new.fingers == old.fingers


def test_exercises_for_bars_of_choice(tmp_path: Path) -> None:
    from passagework.score import read_score

    out = tmp_path / "exercises"
    done = passagework("exercises", str(DEMO), "--out", str(out), "--bars", "12-13")
    assert done.returncode == 0, done.stderr
    index = json.loads((out / "exercises.json").read_text())
    assert index["format"] == "passagework.exercises/1"
    assert index["exercises"]
    for exercise in index["exercises"]:
        for step in exercise["steps"]:
            notation = (out / f"{step['file']}.musicxml").read_bytes()
            assert read_score(notation).piece.notes
            assert (out / f"{step['file']}.mid").read_bytes().startswith(b"MThd")
    assert (out / "exercises.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--bars", "12-900"], "there is no bar 900"),
        (["--bars", "20-12"], "the first comes after the last"),
        (["--bars", "x y z"], "names no bars"),
        (["--kind", "sorcery"], "there is no kind of difficulty"),
        (["--technique", "landing"], "name them with --bars"),
        (["--bars", "12", "--technique", "sorcery"], "there is no practice technique"),
    ],
)
def test_exercises_that_cannot_be_are_one_line(
    tmp_path: Path, arguments: list[str], says: str
) -> None:
    done = passagework("exercises", str(DEMO), "--out", str(tmp_path / "x"), *arguments)
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--soundfont", str(DEMO)], "a soundfont is for --sound"),
        (["--sound", "wav", "--soundfont", str(DEMO)], "not an SF2 file"),
        (["--sound", "wav", "--soundfont", "nowhere.sf2"], "there is no file"),
    ],
)
def test_a_soundfont_that_is_none_is_one_line(
    tmp_path: Path, arguments: list[str], says: str
) -> None:
    pytest.importorskip("midirenderer", reason="the extra 'sound' is not installed")
    out = str(tmp_path / "x")
    done = passagework("exercises", str(DEMO), "--out", out, "--bars", "12", *arguments)
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1
    assert says in done.stderr


def test_the_sound_of_a_step_lasts_as_long_as_its_midi(tmp_path: Path) -> None:
    import wave

    import mido

    pytest.importorskip("midirenderer", reason="the extra 'sound' is not installed")
    out = tmp_path / "x"
    done = passagework(
        "exercises", str(DEMO), "--out", str(out), "--bars", "12", "--sound", "wav",
        "--technique", "hands-separately",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    waves = sorted(out.glob("*.wav"))
    assert waves
    for path in waves:
        with wave.open(str(path)) as file:
            seconds = file.getnframes() / file.getframerate()
        assert seconds == pytest.approx(mido.MidiFile(path.with_suffix(".mid")).length, abs=0.02)
