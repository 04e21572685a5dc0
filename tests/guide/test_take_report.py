"""The document and the report of a take, from simulated takes whose faults are known."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from passagework.cli import main
from passagework.listening.simulate import play
from passagework.listening.simulate.faults import Hesitation, WrongNote
from passagework.listening.simulate.midi import to_midi_bytes
from passagework.score import Reading
from tests.conftest import DEMO

SCORE = DEMO / "evening-ferry.musicxml"


@pytest.fixture(scope="module")
def takes(
    demo: Callable[[str], Reading], tmp_path_factory: pytest.TempPathFactory
) -> dict[str, Path]:
    piece = demo("evening-ferry").piece
    bar = [n for n in piece.notes if n.bar == 14 and n.hand == "right"]
    faults = (WrongNote(bar[1].id), Hesitation(bar[-1].id, 1.5))
    folder = tmp_path_factory.mktemp("takes")
    rows = {
        "then": play(piece, seed=5, bars=(8, 24), faults=faults).take,
        "now": play(piece, seed=6, bars=(8, 24), faults=faults[:1]).take,
        "other": play(demo("lamplighter").piece, seed=1).take,
    }
    for name, take in rows.items():
        (folder / f"{name}.mid").write_bytes(to_midi_bytes(take))
    return {name: folder / f"{name}.mid" for name in rows}


def test_the_document_keeps_its_promise(takes: dict[str, Path], tmp_path: Path) -> None:
    target = tmp_path / "take.json"
    assert main(["listen", str(SCORE), str(takes["now"]), "--json", str(target)]) == 0
    document = json.loads(target.read_text())
    assert document["format"] == "passagework.take/1"
    onsets = [(p["onset"], p["pitch"]) for p in document["played"]]
    assert onsets == sorted(onsets)
    assert [p["index"] for p in document["played"]] == list(range(len(onsets)))
    struck = [row["played"] for row in document["alignment"]]
    assert len(struck) == len(set(struck))
    assert not set(struck) & set(document["extra"])
    assert [(p["first_bar"], p["last_bar"]) for p in document["passes"]] == [(8, 24)]
    wrong = [f for f in document["findings"] if f["kind"] == "wrong-notes"]
    assert [f["first_bar"] for f in wrong] == [14]
    assert all(f["measure"] and f["reason"] for f in document["findings"])


def test_the_report_says_what_was_played_and_compares(
    takes: dict[str, Path], tmp_path: Path
) -> None:
    report = tmp_path / "report.html"
    arguments = ["listen", str(SCORE), str(takes["now"]), "--before", str(takes["then"])]
    assert main([*arguments, "--out", str(report)]) == 0
    text = report.read_text()
    assert "To say first" in text
    assert "Bar 14, right hand" in text  # with a pickup, index and printed number agree
    assert "Then and now" in text
    assert re.search(r"hesitations</th><td>1</td><td>0</td>", text)
    assert not re.search(r"""(src|href)\s*=\s*["'](https?:)?//""", text)


def test_a_take_of_another_piece_is_said_to_be_one(
    takes: dict[str, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    report = tmp_path / "report.html"
    arguments = ["listen", str(SCORE), str(takes["other"]), "--json", "-", "--out", str(report)]
    assert main(arguments) == 0
    said = capsys.readouterr()
    document = json.loads(said.out)
    assert document["recognised"] is False
    assert document["findings"] == []
    assert "does not sound like" in said.err
    assert "does not sound like" in report.read_text()


def test_a_take_that_is_none_gets_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    broken = tmp_path / "broken.mid"
    broken.write_bytes(b"MThd\x00\x00\x00\x06\x00\x00\x00\x01\x01\xe0MTrk\xff\xff\xff\xff")
    assert main(["listen", str(SCORE), str(broken), "--json", "-"]) == 1
    assert len(capsys.readouterr().err.strip().splitlines()) == 1
