"""The rules that hold the house up."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted((ROOT / "src").rglob("*.py"))


def test_imports_run_one_way() -> None:
    """Rooms import only rooms above them (the contract stands in pyproject.toml)."""
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports")],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_holds_one_idea(path: Path) -> None:
    assert len(path.read_text().splitlines()) <= 450


def test_nothing_names_a_registry_or_a_machine() -> None:
    """No lock file or config names a registry's host or a path of one machine."""
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split()
    if not tracked:
        pytest.skip("not a git checkout")
    pattern = re.compile(r"index-url|pythonhosted|registry *=|(^|[^\w./])/(root|home|work)/")
    own = Path(__file__).relative_to(ROOT).as_posix()
    for name in tracked:
        path = ROOT / name
        if name == own or path.suffix in {".png", ".svg"} or not path.is_file():
            continue
        hits = [
            line for line in path.read_text(errors="replace").splitlines() if pattern.search(line)
        ]
        assert not hits, f"{name}: {hits[0][:120]}"


def test_only_the_outer_rooms_touch_files_and_clocks() -> None:
    """score to guide are functions from values to values."""
    outer = {"cli", "__main__.py", "studio", "survey", "web"}
    pattern = re.compile(
        r"(?<![\w.])(open\(|\.write_(text|bytes)\(|time\.time\(|datetime\.now|urlopen|socket\.)"
    )
    for path in SOURCES:
        room = path.relative_to(ROOT / "src" / "passagework").parts[0]
        if room in outer:
            continue
        hits = [line.strip() for line in path.read_text().splitlines() if pattern.search(line)]
        hits = [h for h in hits if not h.startswith("def ")]
        assert not hits, f"{path.relative_to(ROOT)}: {hits[0]}"


@pytest.mark.parametrize("module", ["passagework.cli", "passagework.score"])
def test_starting_up_loads_nothing_heavy(module: str) -> None:
    code = (
        f"import {module}, sys; "
        "heavy = {'verovio', 'music21', 'typst', 'scipy', 'numpy', 'jinja2', 'converter21'}; "
        "print(sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
