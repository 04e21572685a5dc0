"""`passagework level`: the list, the document, and what is wrong with either."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from passagework.cli.files import UnusableInputError
from passagework.cli.graded_list import read_list
from passagework.cli.level import measure_all
from passagework.cli.main import main
from tests.spots.build import musicxml

FIELDS = {"path", "level", "low", "high", "score", "reasons", "neighbours"}


def score_text(height: int) -> str:
    """Pieces that grow: more notes in a bar, a wider compass, chords from the middle on, signs at the end."""
    values = ["2", "1", "1", "1/2", "1/2", "1/4", "1/4"]
    value = values[min(height // 2, 6)]
    amount = {"2": 2, "1": 4, "1/2": 8, "1/4": 16}[value]
    names = ["C", "D", "E", "G", "A", "F#" if height > 8 else "F"]
    octaves = [4, 5] if height < 5 else [4, 5, 6]

    def cell(i: int) -> str:
        note = f"{names[(i * 3 + height) % 6]}{octaves[i % len(octaves)]}"
        return f"{note}+G5/{value}" if height > 6 and i % 2 and note != "G5" else f"{note}/{value}"

    left = "C3/2 G3/2" if height < 4 else " ".join(["C3/1/2", "G3/1/2"] * 4)
    bar = " ".join(cell(i) for i in range(amount))
    return musicxml(
        f"R: {' | '.join([bar] * (6 + height))}; L: {' | '.join([left] * (6 + height))}"
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("graded")
    for height in range(12):
        (folder / f"piece {height}.musicxml").write_text(score_text(height))
    rows = [f"piece {h}.musicxml,Grade {h // 3 + 1}" for h in range(12)]
    (folder / "list.csv").write_text("path,level\n" + "\n".join(rows) + "\n")
    return folder


def run(folder: Path, *arguments: str) -> list[dict[str, Any]]:
    out = folder / "out.json"
    assert main(["level", *arguments, "--json", str(out)]) == 0
    document = json.loads(out.read_text())
    assert set(document) == {"format", "pieces"}
    assert document["format"] == "passagework.level/1"
    return list(document["pieces"])


def test_pieces_are_placed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder.parent)  # the list's paths count from its own folder
    scores = [str(folder / f"piece {h}.musicxml") for h in (0, 5, 11)]
    rows = run(folder, *scores, "--graded", str(folder / "list.csv"))
    assert [set(r) for r in rows] == [FIELDS] * 3
    assert [r["path"] for r in rows] == scores
    assert rows[0]["level"] == "Grade 1"
    assert rows[2]["level"] == "Grade 4"
    assert rows[0]["score"] < rows[1]["score"] < rows[2]["score"]
    for row in rows:
        assert row["low"] <= row["level"] <= row["high"]
        assert 1 <= len(row["reasons"]) <= 3
        assert all(r["text"].endswith(".") for r in row["reasons"])
        assert len(row["neighbours"]) == 3
        name = Path(row["path"]).name
        assert name not in {n["path"] for n in row["neighbours"]}


def test_the_same_for_the_same(folder: Path) -> None:
    arguments = (str(folder / "piece 3.musicxml"), "--graded", str(folder / "list.csv"))
    assert run(folder, *arguments) == run(folder, *arguments)


def test_with_few_graded_pieces_it_ranks_and_says_so(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    short = folder / "short.csv"
    short.write_text("piece 0.musicxml;1\npiece 11.musicxml;2\n")
    rows = run(folder, str(folder / "piece 4.musicxml"), str(folder / "piece 9.musicxml"), "--graded", str(short))  # fmt: skip
    assert [r["level"] for r in rows] == [None, None]
    assert rows[0]["score"] < rows[1]["score"]
    assert "ranked only: 2 graded pieces are too few" in capsys.readouterr().err


def test_a_bad_score_is_a_row_and_a_line(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = folder / "bad.musicxml"
    bad.write_text("<score-partwise><part>")
    rows = run(folder, str(bad), str(folder / "piece 1.musicxml"), str(folder / "none.mxl"))
    assert [("error" in r, r["level"]) for r in rows] == [(True, None), (False, None), (True, None)]
    error = capsys.readouterr().err
    assert "bad.musicxml" in error
    assert "there is no file" in error
    assert main(["level", str(bad), "--json", str(folder / "x.json")]) == 1
    assert not (folder / "x.json").exists()


def test_a_bad_line_of_the_list_is_named(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    wrong = folder / "wrong.csv"
    wrong.write_text("piece 0.musicxml,1\npiece 1.musicxml\n")
    arguments = ["level", str(folder / "piece 1.musicxml"), "--json", "-", "--graded", str(wrong)]
    assert main(arguments) == 1
    assert "wrong.csv, line 2" in capsys.readouterr().err


def test_an_order_can_be_given(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    named = folder / "named.csv"
    rows = [f"piece {h}.musicxml,{'red' if h < 6 else 'amber'}" for h in range(12)]
    named.write_text("\n".join(rows))
    arguments = (str(folder / "piece 11.musicxml"), "--graded", str(named))
    placed = run(folder, *arguments, "--order", "red, amber")
    assert placed[0]["level"] == "amber"
    assert capsys.readouterr().err == ""
    run(folder, *arguments)
    assert "in the order amber, red" in capsys.readouterr().err
    assert main(["level", *arguments, "--order", "red", "--json", "-"]) == 1
    assert "'amber' is not in the order" in capsys.readouterr().err


def test_lists_as_programs_write_them(folder: Path) -> None:
    listed = folder / "odd.csv"
    listed.write_bytes('\ufeffScore\tGrade\r\n\r\n"piece 1.musicxml"\t "2" \r\n'.encode())
    (piece,) = read_list(listed)
    assert (piece.named, piece.level) == ("piece 1.musicxml", "2")
    assert piece.path == folder / "piece 1.musicxml"
    listed.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(UnusableInputError, match="UTF-8"):
        read_list(listed)


def test_many_processes_measure_what_one_does(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    jobs = {(f"real {h}", 20.1): str(folder / f"piece {h}.musicxml") for h in range(6)}
    many = measure_all(jobs)
    monkeypatch.setattr("passagework.cli.level._cores", lambda: 1)
    assert measure_all(jobs) == many
    assert set(many) == set(jobs)


def test_a_smaller_hand_is_never_easier(folder: Path) -> None:
    wide = folder / "wide.musicxml"
    wide.write_text(musicxml("R: C5+E6/2 C5+D6/2 | C5+C6/4; L: C3+C4/4 | C3+D4/4"))
    arguments = (str(wide), "--graded", str(folder / "list.csv"))
    large, middle, small = (
        run(folder, *arguments, "--reach", reach)[0] for reach in ("23", "20.1", "15")
    )
    assert large["score"] < middle["score"] < small["score"]
    assert large["level"] <= middle["level"] <= small["level"]
