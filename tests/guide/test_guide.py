"""The guide of a score: complete, true to its own numbers, and the same in all three files."""

from __future__ import annotations

import json
import re
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import pytest

from passagework.guide.preparation import Preparation
from passagework.guide.write import guide_files
from passagework.hands.hand import Hand
from passagework.score import read_score

DEMO = files("passagework.demo")
DATA = Path(__file__).resolve().parents[3] / "shared" / "data" / "scores"
REAL = sorted(DATA.glob("*.musicxml"))
SAMPLE = [p for p in REAL if p.stat().st_size < 700_000]


def prepare(data: bytes, name: str = "", reach: float = 20.1) -> Preparation:
    return Preparation(read_score(data, name), Hand(reach_cm=reach))


@pytest.fixture(scope="module")
def demo() -> tuple[Preparation, dict[str, bytes]]:
    preparation = prepare(DEMO.joinpath("evening-ferry.musicxml").read_bytes())
    return preparation, guide_files(preparation)


class _Page(HTMLParser):
    """Collects ids, links and everything that would be loaded."""

    def __init__(self) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.loads: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name == "id":
                self.ids.append(value or "")
            elif name in {"href", "xlink:href"}:
                self.links.append(value or "")
            elif name == "src" or (tag == "link" and name == "href"):
                self.loads.append(value or "")


def _page(data: bytes) -> _Page:
    page = _Page()
    page.feed(data.decode())
    return page


def test_the_page_loads_nothing_and_its_links_lead_somewhere(
    demo: tuple[Preparation, dict[str, bytes]],
) -> None:
    page = _page(demo[1]["guide.html"])
    assert page.loads == []
    assert all(link.startswith("#") for link in page.links)
    assert {link[1:] for link in page.links} <= set(page.ids)
    assert len(page.ids) == len(set(page.ids))


def test_every_printed_note_is_on_the_page(demo: tuple[Preparation, dict[str, bytes]]) -> None:
    preparation, written = demo
    ids = set(_page(written["guide.html"]).ids)
    missing = [i for n in preparation.piece.notes if n.printed for i in n.ids if i not in ids]
    assert missing == []


def test_every_listed_spot_shows_its_notes(demo: tuple[Preparation, dict[str, bytes]]) -> None:
    preparation, written = demo
    ids = set(_page(written["guide.html"]).ids)
    assert preparation.listed
    for spot in preparation.listed:
        assert f"spot-{spot.rank}" in ids
        printed = [i for i in spot.focus.note_ids if preparation.piece.by_id[i].printed]
        assert all(f"s{spot.rank}-{i}" in ids for i in printed), spot.id


def test_html_pdf_and_json_tell_the_same(demo: tuple[Preparation, dict[str, bytes]]) -> None:
    import pypdfium2

    preparation, written = demo
    guide = json.loads(written["guide.json"])
    html = written["guide.html"].decode()
    document = pypdfium2.PdfDocument(written["guide.pdf"])
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    text = re.sub(r"\s+", " ", text)
    titles = [s["title"] for s in guide["spots"] if s["rank"]]
    assert titles == [s.wording.title for s in preparation.listed]
    for title in titles:
        assert title.replace("&", "&amp;") in html
        assert title.split(":")[0] in text


def test_the_same_score_gives_the_same_bytes(demo: tuple[Preparation, dict[str, bytes]]) -> None:
    again = guide_files(prepare(DEMO.joinpath("evening-ferry.musicxml").read_bytes()))
    for name in ("guide.html", "guide.json"):
        assert again[name] == demo[1][name]


@pytest.mark.parametrize("name", ["paper-boat", "lamplighter"])
def test_an_easy_piece_gets_a_guide_worth_reading(name: str) -> None:
    preparation = prepare(DEMO.joinpath(f"{name}.musicxml").read_bytes())
    assert 1 <= len(preparation.listed) <= 6
    page = guide_files(preparation)
    assert b"<article" in page["guide.html"]


def test_a_hostile_title_is_only_text() -> None:
    data = DEMO.joinpath("paper-boat.musicxml").read_bytes()
    title = b'&lt;script&gt;alert(1)&lt;/script&gt; #import "x" *b* $1$'
    data = re.sub(
        rb"<work-title>[^<]*</work-title>", b"<work-title>" + title + b"</work-title>", data
    )
    written = guide_files(prepare(data))
    assert b"<script" not in written["guide.html"]
    assert written["guide.pdf"].startswith(b"%PDF")


@pytest.mark.skipif(not REAL, reason="the real scores are not on this machine")
@pytest.mark.parametrize("path", SAMPLE, ids=lambda p: p.stem)
def test_real_scores_give_a_whole_guide(path: Path) -> None:
    preparation = prepare(path.read_bytes(), path.name)
    written = guide_files(preparation)
    html = written["guide.html"].decode()
    guide = json.loads(written["guide.json"])
    assert preparation.listed
    assert all(guide["sentences"])
    assert all(guide["facts"].values())
    assert "Some of the music is not shown" not in html
    for spot in guide["spots"]:
        for field in ("title", "reason", "goes_wrong", "done_when", "try", "evidence", "note_ids"):
            assert spot[field], (spot["id"], field)
        assert 0 <= spot["severity"] <= 1
        assert 0 <= spot["first_bar"] <= spot["last_bar"] < len(preparation.piece.bars)
        assert all(i in preparation.piece.by_id for i in spot["note_ids"])
