"""Scores for the tests of this room: written out, made up by chance, or real where they are at hand."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

import pytest
from hypothesis import strategies as st

from passagework.score import Reading, read_score
from tests.spots.build import musicxml

ROOT = Path(__file__).resolve().parents[2]
DEMO = sorted((ROOT / "src" / "passagework" / "demo").glob("*.musicxml"))
DATA = Path(os.environ.get("PASSAGEWORK_DATA", ROOT.parent / "shared" / "data")) / "scores"


def reading(text: str, **options: object) -> Reading:
    return read_score(musicxml(text, **options).encode())  # type: ignore[arg-type]


@cache
def demo(name: str) -> Reading:
    file = next(f for f in DEMO if name in f.name)
    return read_score(file.read_bytes(), file.name)


@cache
def real(name: str) -> Reading:
    """A score of the development data; the test is skipped where it is not there."""
    files = [f for f in sorted(DATA.glob("*.musicxml")) if name in f.name] if DATA.is_dir() else []
    if not files:
        pytest.skip(f"no score {name!r}: set PASSAGEWORK_DATA to the folder of development data")
    return read_score(files[0].read_bytes(), files[0].name)


def printed_notes(reading: Reading) -> set[str]:
    return {
        n.get("id", "")
        for n in reading.notation.notes()
        if n.get("print-object") != "no" and n.find("rest") is None
    }


_NOTE = st.builds(
    lambda step, sign, octave: f"{step}{sign}{octave}",
    st.sampled_from("ABCDEFG"),
    st.sampled_from(["", "", "#", "b"]),
    st.integers(2, 6),
)
_PATTERNS = (
    ("1", "1", "1", "1"),
    ("2", "2"),
    ("4",),
    ("1/2",) * 8,
    ("3/2", "1/2", "1/3", "1/3", "1/3", "1"),
)


_SIGNS = ("@p", "@<", "@.", "@clefF", "@clefG", "@8va", "@8.", "@&", "@*", "@key2")


@st.composite
def texts(draw: st.DrawFn, most_bars: int = 4) -> str:
    """A score in the language of `tests.spots.build`: two hands, ties, slurs, hairpins, clefs, ottava."""
    bars = draw(st.integers(1, most_bars))
    voices = []
    for name in ("R", "L"):
        rows = []
        used: set[str] = set()
        for bar in range(bars):
            tokens = []
            for at, value in enumerate(draw(st.sampled_from(_PATTERNS))):
                if at == 0 and draw(st.integers(0, 3)) == 0:
                    # an ottava that begins twice and ends never means nothing to compare
                    sign = draw(st.sampled_from([c for c in _SIGNS if c not in used]))
                    used |= {"@8va"} & {sign}
                    tokens.append(sign)
                if (bar, at) != (0, 0) and draw(st.integers(0, 7)) == 0:  # a score has a note
                    tokens.append(f"r/{value}")
                    continue
                names = draw(st.lists(_NOTE, min_size=1, max_size=3, unique=True))
                tie = "~" if draw(st.integers(0, 4)) == 0 and bar < bars - 1 else ""
                slur = draw(st.sampled_from(["", "", "", "!(", "!)"]))
                tokens.append(f"{'+'.join(names)}/{value}{tie}{slur}")
            rows.append(" ".join(tokens))
        voices.append(f"{name}: " + " | ".join(rows))
    return "; ".join(voices)
