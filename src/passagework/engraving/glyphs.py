"""The music font: outlines and measures of its characters, read from the engraver's own data.

A character is named by its code point in SMuFL, ``"E0A4"`` for a black notehead. Measures are in
thousandths of a staff's height (the em of a music font), y upwards.
"""

from __future__ import annotations

import importlib.util
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from passagework.engraving.errors import EngravingError

FONT = "Leipzig"

FLAT, NATURAL, SHARP = "E260", "E261", "E262"
DOUBLE_SHARP, DOUBLE_FLAT = "E263", "E264"
ACCIDENTALS = frozenset({FLAT, NATURAL, SHARP, DOUBLE_SHARP, DOUBLE_FLAT})
"""Characters that marks may use, so that their outlines are always handed over."""

_PATH = re.compile(r'\bd="([^"]*)"')


@dataclass(frozen=True, slots=True)
class Glyph:
    """Measures of a character: left, bottom, width, height of its ink and its advance."""

    x: float
    y: float
    width: float
    height: float
    advance: float


UNKNOWN = Glyph(0, -125, 300, 250, 300)
"""What a character that the font lacks is taken to measure: about a notehead."""


@cache
def _folder() -> Path:
    # the engraver's library itself is loaded in the worker's process only
    found = importlib.util.find_spec("verovio")
    if found is None or found.origin is None:
        raise EngravingError("the engraver (verovio) is not installed")
    return Path(found.origin).parent / "data"


@cache
def _measures() -> dict[str, Glyph]:
    from lxml import etree

    root = etree.parse(str(_folder() / f"{FONT}.xml")).getroot()
    rows: dict[str, Glyph] = {}
    for node in root.iter("g"):
        values = [float(node.get(k) or 0) for k in ("x", "y", "w", "h", "h-a-x")]
        rows[node.get("c") or ""] = Glyph(*values)
    return rows


def measure(name: str) -> Glyph:
    """Measures of a character; those of `UNKNOWN` if the font lacks it."""
    return _measures().get(name, UNKNOWN)


@cache
def outline(name: str) -> str:
    """SVG path data of a character; empty if the font lacks it."""
    file = _folder() / FONT / f"{name}.xml"
    if not re.fullmatch(r"[0-9A-F]{4,5}", name) or not file.is_file():
        return ""
    found = _PATH.search(file.read_text(encoding="utf-8"))
    return found.group(1).strip() if found else ""
