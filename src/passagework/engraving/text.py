"""Words in the engraver's SVG: kept as text, with music characters among them drawn as outlines.

The engraver trusts a music font to be installed for the note in "♩ = 60"; here it is not, neither
in a browser nor in the typesetter of the PDF, so such characters become the font's outlines.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from typing import Any, Final

from lxml import etree

from passagework.engraving import glyphs
from passagework.engraving.layout import PER_UNIT
from passagework.engraving.strokes import PER_THOUSAND, Shape, glyph
from passagework.engraving.system import Box, union
from passagework.engraving.words import width

MUSIC_CHARACTERS: Final = range(0xE000, 0xF900)
"""The private area in which music fonts keep their characters."""

ASCENT: Final = 0.75
"""Ems from the base line to the top of a capital, with a little room."""
BOLD_WIDER: Final = 1.1
"""Width of a bold face against the plain one, in the usual book faces."""
DESCENT: Final = 0.22
"""Ems below the base line."""
MUSIC_TO_WORDS: Final = 720 / 405
"""Size of a music character against words of the same line, as the engraver pairs them."""

_BOLD: Final = frozenset({"ending", "fing", "reh", "tempo"})
_ITALIC: Final = frozenset({"dir", "dynam", "mNum"})


@dataclass(frozen=True, slots=True)
class _Run:
    text: str
    size: float
    italic: bool
    bold: bool
    music: bool


def set_text(node: Any) -> Shape | None:
    """A ``text`` element in units."""
    runs = list(_runs(node, *_manner(node)))
    if not any(r.text.strip() for r in runs):
        return None
    x = float(node.get("x") or 0) / PER_UNIT
    y = float(node.get("y") or 0) / PER_UNIT
    anchor = node.get("text-anchor") or "start"
    if len({(r.size, r.italic, r.bold, r.music) for r in runs}) == 1 and not runs[0].music:
        return _plain(runs, x, y, anchor)
    total = sum(_advance(r) for r in runs)
    x -= {"middle": total / 2, "end": total}.get(anchor, 0.0)
    parts: list[Shape] = []
    for run in runs:
        if run.music:
            at = x
            for c in run.text:
                name = f"{ord(c):04X}"
                scale = run.size / (720 / PER_UNIT)
                parts.append(glyph(name, at, y, scale))
                at += glyphs.measure(name).advance * PER_THOUSAND * scale
        elif run.text.strip():
            parts.append(_plain([run], x, y, "start"))
        x += _advance(run)
    return Shape(
        "".join(p.svg for p in parts),
        union([p.box for p in parts]),
        frozenset().union(*(p.glyphs for p in parts)),
    )


def words(
    text: str, x: float, y: float, size: float, *, anchor: str = "start", more: str = ""
) -> Shape:
    """Plain words with their base line at y; `more` is put among the attributes."""
    wide = width(text, size)
    left = x - {"middle": wide / 2, "end": wide}.get(anchor, 0.0)
    box: Box = (
        int(left),
        int(y - ASCENT * size),
        int(left + wide) + 1,
        int(y + DESCENT * size) + 1,
    )
    where = f' text-anchor="{anchor}"' if anchor != "start" else ""
    svg = f'<text x="{x:.0f}" y="{y:.0f}" font-size="{size:.0f}"{where}{more}>{escape(text, quote=False)}</text>'
    return Shape(svg, box)


def _plain(runs: list[_Run], x: float, y: float, anchor: str) -> Shape:
    first = runs[0]
    more = ' font-style="italic"' if first.italic else ""
    if first.bold:
        more += ' font-weight="bold"'
    text = "".join(r.text for r in runs)
    return words(text, x, y, first.size, anchor=anchor, more=more)


def _advance(run: _Run) -> float:
    if not run.music:
        return width(run.text, run.size) * (BOLD_WIDER if run.bold else 1)
    scale = run.size / (720 / PER_UNIT)
    return sum(glyphs.measure(f"{ord(c):04X}").advance for c in run.text) * PER_THOUSAND * scale


def _manner(node: Any) -> tuple[bool, bool]:
    """Whether the group around a text makes it slanted, and bold."""
    for up in node.iterancestors():
        kind = (up.get("class") or "").split(" ")[0]
        if kind in _BOLD:
            return False, True
        if kind in _ITALIC:
            return True, False
        if kind in {"measure", "system"}:
            break
    return False, False


def _runs(node: Any, italic: bool, bold: bool, size: float = 0.0) -> Any:
    style = node.get("font-style")
    if style:
        italic = style != "normal"
    weight = node.get("font-weight")
    if weight:
        bold = weight == "bold"
    given = (node.get("font-size") or "").removesuffix("px")
    if given and float(given) > 0:
        size = float(given) / PER_UNIT
    family = node.get("font-family") or ""
    yield from _split(node.text or "", size, italic, bold, family)
    for child in node:
        if etree.QName(child).localname == "tspan":
            yield from _runs(child, italic, bold, size)


def _split(text: str, size: float, italic: bool, bold: bool, family: str) -> Any:
    """Runs of `text`, the music characters apart."""
    part = ""
    was: bool | None = None
    for c in text:
        music = ord(c) in MUSIC_CHARACTERS
        if was is not None and music != was:
            yield _run(part, size, italic, bold, was, family)
            part = ""
        part += c
        was = music
    if part and was is not None:
        yield _run(part, size, italic, bold, was, family)


def _run(text: str, size: float, italic: bool, bold: bool, music: bool, family: str) -> _Run:
    if music and not family:
        size *= MUSIC_TO_WORDS
    return _Run(text, size, italic, bold, music)
