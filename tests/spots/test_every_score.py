"""What holds for the candidates and the words of every kind, whatever the music."""

from __future__ import annotations

import os
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from passagework.score import read_score
from passagework.spots import Context, find_candidates
from passagework.spots.spot import Candidate
from passagework.spots.table import all_kinds
from tests.spots.build import context

ROOT = Path(__file__).parents[2]
DEMO = ROOT / "src" / "passagework" / "demo"
DATA = Path(os.environ.get("PASSAGEWORK_DATA", ROOT.parent / "shared" / "data")) / "scores"
SAMPLE = ("bach-prelude-846", "mozart-sonata-12-2", "schubert-moment-3")

NOTES = ["C4", "E4", "F#4", "Bb4", "C5", "E6", "F##5", "r", "C4+E4", "G3+B4"]
SIGNS = [
    "",
    "",
    "",
    "@p ",
    "@f ",
    "@pp ",
    "@sf ",
    "@fp ",
    "@< ",
    "@. ",
    "@clefF ",
    "@key-2 ",
    "@key3 ",
]


@cache
def _piece(path: Path) -> Context:
    return Context(read_score(path.read_bytes(), path.name).piece)


def check(ctx: Context) -> None:
    """Bars, hands, notes and severities are real, and every sentence is whole."""
    for kind in all_kinds():
        found = list(kind.find(ctx))
        assert found == list(kind.find(ctx)), kind.name
        for candidate in found:
            _check_candidate(ctx, candidate)
        for candidate in sorted(found, key=lambda c: -c.severity)[:12]:
            words = kind.describe([candidate], ctx)
            assert 2 <= len(words.try_) <= 4
            for text in (words.title, words.reason, words.goes_wrong, words.done_when, *words.try_):
                _check_sentence(text)
            assert re.search(r" = \d", words.done_when), words.done_when
            assert words.evidence


def _check_candidate(ctx: Context, candidate: Candidate) -> None:
    assert 0 <= candidate.first_bar <= candidate.last_bar < len(ctx.piece.bars)
    assert candidate.hand in {"left", "right", "both"}
    assert 0.0 <= candidate.severity <= 1.0
    assert candidate.note_ids
    assert len(set(candidate.note_ids)) == len(candidate.note_ids)
    notes = [ctx.piece.by_id[i] for i in candidate.note_ids]
    assert all(n.printed for n in notes)


def _check_sentence(text: str) -> None:
    assert text == text.strip()
    assert text
    assert text[0] == text[0].upper()
    assert "!" not in text
    for fault in (
        "  ",
        "None",
        " nan",
        "{",
        "}",
        " ,",
        " .",
        "..",
        "one notes",
        "one bars",
    ):
        assert fault not in text, text
    assert not re.search(r"\b(\w+) \1\b", re.sub(r"\d", "", text)), text


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.musicxml")), ids=lambda p: p.stem)
def test_demo_pieces(path: Path) -> None:
    check(_piece(path))


@pytest.mark.parametrize("name", SAMPLE)
def test_concert_pieces(name: str) -> None:
    path = DATA / f"{name}.musicxml"
    if not path.exists():
        pytest.skip(f"the development scores are not here ({path.name})")
    check(_piece(path))


@st.composite
def scores(draw: st.DrawFn) -> str:
    """Four bars of four crotchets for two hands and now and then a second voice, with signs anywhere."""
    lines = []
    for line in ("R", "L", *draw(st.sampled_from([(), ("R2",), ("L2",), ("R2", "L2")]))):
        bars = []
        for _ in range(4):
            cells = draw(st.lists(st.sampled_from(NOTES), min_size=4, max_size=4))
            signs = draw(st.lists(st.sampled_from(SIGNS), min_size=4, max_size=4))
            ties = draw(st.lists(st.sampled_from(["", "", "~"]), min_size=4, max_size=4))
            bars.append(
                " ".join(
                    f"{s}{n}/1{'' if n == 'r' else t}"
                    for s, n, t in zip(signs, cells, ties, strict=True)
                )
            )
        lines.append(f"{line}: {' | '.join(bars)}")
    return "; ".join(lines)


@settings(max_examples=25, deadline=None)
@given(scores())
def test_any_music(text: str) -> None:
    check(context(text))


def test_an_empty_score_has_no_spots() -> None:
    silent = replace(context("R: C5/4; L: r/4").piece, notes=())
    found = find_candidates(Context(silent))
    assert not any(found.values())
