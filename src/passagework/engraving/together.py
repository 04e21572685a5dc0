"""Several pieces of music in one HTML document: ids made unique, music characters defined once."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Final

from passagework.engraving.draw import glyph_definition

CHARACTER_PREFIX: Final = "music-"
"""What the names of shared music characters begin with."""

_DEFS = re.compile(r"<defs>.*?</defs>", re.DOTALL)
_ONE = re.compile(r'<path id="([0-9A-F]{4,5})" transform="[^"]*" d="([^"]*)"/>')
_ID = re.compile(r'<g id="([^"]+)"')
_HREF = re.compile(r'href="#([0-9A-F]{4,5})"')


def with_prefix(svg: str, prefix: str) -> str:
    """`svg` with `prefix` before every id and every reference to one; complete in itself."""
    svg = re.sub(r'(<(?:g|path) id=")', rf"\g<1>{prefix}", svg)
    return re.sub(r'href="#', f'href="#{prefix}', svg)


def without_characters(svg: str, prefix: str = "") -> str:
    """`svg` with its ids prefixed and its music characters left to `shared_characters`."""
    svg = _DEFS.sub("", svg)
    if prefix:
        svg = _ID.sub(rf'<g id="{prefix}\1"', svg)
    return _HREF.sub(rf'href="#{CHARACTER_PREFIX}\1"', svg)


def shared_characters(svgs: Iterable[str]) -> str:
    """One invisible SVG that defines every music character of `svgs` (as `draw` made them) once."""
    return characters(music_characters(svgs))


def music_characters(svgs: Iterable[str]) -> dict[str, str]:
    """The outlines by name that `svgs` (as `draw` made them) define."""
    found: dict[str, str] = {}
    for svg in svgs:
        for name, outline in _ONE.findall(svg):
            found.setdefault(name, outline)
    return found


def characters(found: Mapping[str, str]) -> str:
    """One invisible SVG that defines music characters, outlines by name (`Engraving.outlines`).

    It carries no style of its own: the page's style sheet takes ``.characters`` out of its flow.
    """
    paths = "".join(
        glyph_definition(name, outline).replace('id="', f'id="{CHARACTER_PREFIX}', 1)
        for name, outline in sorted(found.items())
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0" class="characters" '
        f'aria-hidden="true"><defs>{paths}</defs></svg>'
    )
