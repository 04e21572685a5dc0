"""Two tables in order become one, however they are cut; the command says what is wrong in one line."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from importlib.util import find_spec
from pathlib import Path

import pyarrow as pa
import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.cli import main
from passagework.survey.source import is_score
from passagework.survey.table import kept_rows, merged
from tests.survey.conftest import DEMO


def cut(paths: list[str], cuts: list[int]) -> Iterator[pa.Table]:
    start = 0
    for length in [*cuts, len(paths)]:
        part = paths[start : start + length]
        start += length
        yield pa.table(
            {"path": pa.array(part, pa.string()), "n": pa.array(map(len, part), pa.int64())}
        )


@given(
    st.dictionaries(st.text(max_size=6), st.booleans(), max_size=40),
    st.lists(st.integers(0, 7), max_size=8),
    st.lists(st.integers(0, 7), max_size=8),
)
def test_merged_is_the_sorted_union(
    sides: dict[str, bool], cuts: list[int], others: list[int]
) -> None:
    one = sorted(p for p, side in sides.items() if side)
    other = sorted(p for p, side in sides.items() if not side)
    found = [p for t in merged(cut(one, cuts), cut(other, others)) for p in t["path"].to_pylist()]
    assert found == sorted(sides)


def test_kept_rows_take_a_new_time() -> None:
    old = pa.table({"path": ["a", "b", "c"], "modified": pa.array([1, 2, 3], pa.int64())})
    found = kept_rows(old, {"c": 9, "x": 7}, [True, False, True])
    assert found.to_pylist() == [{"path": "a", "modified": 1}, {"path": "c", "modified": 9}]


@pytest.mark.parametrize(
    ("name", "taken"),
    [("a.MusicXML", True), ("a.mxl", True), ("a.krn", True), ("a.mid", True), ("a.pdf", False),
     ("._a.xml", False), ("xml", False), ("a.xml.bak", False), ("deep/a.mei", True)],
)  # fmt: skip
def test_scores_are_told_by_their_names(name: str, taken: bool) -> None:
    assert is_score(name) is taken


def passagework(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "passagework", "survey", *arguments]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def test_the_command_writes_the_table_and_nothing_else(tmp_path: Path) -> None:
    root, out = tmp_path / "scores", tmp_path / "out.parquet"
    root.mkdir()
    (root / "boat.musicxml").write_bytes((DEMO / "paper-boat.musicxml").read_bytes())
    (root / "bad.mxl").write_bytes(b"PK\x03\x04 not really")
    done = passagework(str(root), "--out", str(out), "--reach", "17", "--workers", "1")
    assert (done.returncode, done.stdout) == (0, "")
    assert done.stderr.startswith("passagework: 1 of the 2 scores")
    assert len(done.stderr.splitlines()) == 1
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.parquet", "scores"]


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (["nowhere", "--out", "x.parquet"], 1, "there is no folder nowhere"),
        ([".", "--out", "."], 1, "is a folder"),
        ([".", "--out", "nowhere/x.parquet"], 1, "there is no folder"),
        ([".", "--out", "x.parquet", "--workers", "0"], 2, "not a number of processes"),
        (["."], 2, "--out"),
    ],
)
def test_the_command_says_what_is_wrong(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
    arguments: list[str], status: int, says: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    if status == 2:
        with pytest.raises(SystemExit, match="2"):
            main(["survey", *arguments])
    else:
        assert main(["survey", *arguments]) == status
    assert says in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_a_missing_extra_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from passagework.cli import survey

    monkeypatch.setattr(
        survey, "find_spec", lambda name: None if name == "pyarrow" else find_spec(name)
    )
    assert main(["survey", str(tmp_path), "--out", str(tmp_path / "x.parquet")]) == 1
    said = capsys.readouterr().err
    assert said == "passagework: this needs the extra 'survey': pip install 'passagework[survey]'\n"
