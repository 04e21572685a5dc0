"""Chord symbols with real accidentals: ``Bb7`` and ``F#m`` drawn with the signs of the music font."""

from __future__ import annotations

import re
from typing import Final

from passagework.engraving import glyphs
from passagework.engraving.layout import SPACE
from passagework.engraving.strokes import PER_THOUSAND, Shape, glyph
from passagework.engraving.system import union
from passagework.engraving.text import words
from passagework.engraving.words import width

_SIGNS: Final = {
    "bb": glyphs.DOUBLE_FLAT,
    "##": glyphs.DOUBLE_SHARP,
    "b": glyphs.FLAT,
    "#": glyphs.SHARP,
    "♭": glyphs.FLAT,
    "♯": glyphs.SHARP,
}

_ACCIDENTAL: Final = re.compile(r"(?<=[A-G])(?:bb|##|[b#])|(?<![A-Za-z])[b#](?=\d|[ivIV])|[♭♯]")
"""An accidental after a letter name, before a figure or a numeral, or written as a sign already."""

RELATIVE_SIZE: Final = 0.62
"""Size of a music character beside words whose em is a staff space, as part of its full size."""


def symbol(text: str, x: float, y: float, size: float, *, more: str = "") -> Shape:
    """`text` with its accidentals as music characters, its base line at y, beginning at x."""
    parts: list[Shape] = []
    scale = RELATIVE_SIZE * size / (2 * SPACE)
    done = 0
    for found in _ACCIDENTAL.finditer(text):
        before = text[done : found.start()]
        if before:
            parts.append(words(before, x, y, size, more=more))
            x += width(before, size) / 1.02
        name = _SIGNS[found.group()]
        parts.append(_sign(name, x, y - 0.32 * size, scale, more))
        x += (glyphs.measure(name).advance * PER_THOUSAND + SPACE / 6) * scale
        done = found.end()
    if text[done:]:
        parts.append(words(text[done:], x, y, size, more=more))
    return Shape(
        "".join(p.svg for p in parts),
        union([p.box for p in parts]),
        frozenset().union(*(p.glyphs for p in parts)),
    )


def _sign(name: str, x: float, y: float, scale: float, more: str) -> Shape:
    drawn = glyph(name, x, y, scale)
    if not more:
        return drawn
    return Shape(f"<g{more}>{drawn.svg}</g>", drawn.box, drawn.glyphs)
