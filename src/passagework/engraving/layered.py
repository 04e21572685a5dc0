"""Marks in layers that a page shows and hides by itself: one SVG to a system, a group to a layer.

`draw` lays one set of marks over the music; here every layer is there at once, so that showing one costs no new drawing.
Words and numbers keep out of each other's way across all layers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from passagework.engraving import lettering, rings
from passagework.engraving.draw import SERIF, bands, paper, plain_body
from passagework.engraving.layout import Layout
from passagework.engraving.marks import Chord, Mark, Ring, Word
from passagework.engraving.placing import Room
from passagework.engraving.rings import Drawn
from passagework.engraving.system import Box, EngravedSystem, union
from passagework.engraving.together import without_characters

Layers = Mapping[str, Sequence[Mark]]
"""Marks by the name of their layer, in the order in which they look for room."""

Pieces = Mapping[str, list[list[rings.Piece]]]
"""By layer, for every system the rings on it."""


@dataclass(frozen=True)
class LayeredSystem:
    """A system with all its layers.

    `svg` leaves its music characters to `passagework.engraving.together.characters`. Its view box ends above the
    rows of chord symbols; ``data-deep`` is the height with them.
    """

    svg: str
    width: int
    """Of the view box, in units."""
    height: int
    deep: int
    """Height with the rows of chords."""


def rings_on(systems: Sequence[EngravedSystem], layers: Layers) -> Pieces:
    """Where the rings of every layer lie: a spot may go on over several systems."""
    return {
        name: rings.pieces(systems, [m for m in marks if isinstance(m, Ring)])
        for name, marks in layers.items()
        if any(isinstance(m, Ring) for m in marks)
    }


def draw_layers(
    system: EngravedSystem,
    layers: Layers,
    ringed: Mapping[str, Sequence[rings.Piece]],
    layout: Layout,
    ground: str = "",
    prefix: str = "",
) -> LayeredSystem:
    """One system with the marks of `layers` and the rings of `ringed`, by layer.

    `ground` is SVG in units that lies under everything; `prefix` goes before every id.
    """
    behind = {name: bands(system, marks) for name, marks in layers.items()}
    front: dict[str, list[tuple[str, Drawn]]] = {name: [] for name in layers}
    circled = [
        (name, piece, rings.draw_piece(piece, system, layout))
        for name, pieces in ringed.items()
        for piece in pieces
    ]
    for name, piece, drawn in circled:
        front.setdefault(name, []).append((piece.ring.number, drawn))
    room = Room(system.obstacles)
    for top, bottom in system.staves:
        room.take((system.edges[0], top, system.edges[1], bottom))
    _numbers(circled, front, system, room, layout)
    for name, marks in layers.items():
        for word in lettering.set_words(system, [m for m in marks if isinstance(m, Word)], room):
            front[name].append(("", word))
    boxes = [d.box for rows in front.values() for _, d in rows]
    boxes += [d.box for rows in behind.values() for d in rows]
    ink = union([system.ink, *boxes])
    low = paper(ink, layout)
    deep = low
    for name, marks in layers.items():
        symbols = [m for m in marks if isinstance(m, Chord)]
        if symbols:
            rows = lettering.set_chords(system, symbols, ink[3])
            front[name] += [("", d) for d in rows]
            deep = union([deep, paper(union([ink, *(d.box for d in rows)]), layout)])
    body = ground + "".join(
        _group(name, [("", d) for d in rows], " behind") for name, rows in behind.items()
    )
    body += plain_body(system)
    body += "".join(_group(name, rows) for name, rows in front.items())
    return LayeredSystem(
        _wrapped(without_characters(body, prefix), low, deep),
        low[2] - low[0],
        low[3] - low[1],
        deep[3] - low[1],
    )


def _numbers(
    circled: Sequence[tuple[str, rings.Piece, Drawn]],
    front: dict[str, list[tuple[str, Drawn]]],
    system: EngravedSystem,
    room: Room,
    layout: Layout,
) -> None:
    """The numbers of all rings: in the margin, and beside rings that it leaves in doubt."""
    here = [piece for _, piece, _ in circled]
    layer_of = {piece.ring.number: name for name, piece, _ in circled}
    for number, figure in rings.numbers_in_margin(here, system, layout):
        room.take(figure.box)
        front[layer_of[number]].append((number, figure))
    for number, figure in rings.numbers_near(here, [d for _, _, d in circled], room, layout):
        front[layer_of[number]].append((number, figure))


def _group(name: str, rows: Sequence[tuple[str, Drawn]], more: str = "") -> str:
    if not rows:
        return ""
    inside = "".join(
        f'<g data-number="{number}">{drawn.svg}</g>' if number else drawn.svg
        for number, drawn in rows
    )
    return f'<g class="layer {name}{more}">{inside}</g>'


def _wrapped(body: str, low: Box, deep: Box) -> str:
    wide, high = low[2] - low[0], low[3] - low[1]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{low[0]} {low[1]} {wide} {high}" '
        f'width="{wide}" height="{high}" data-low="{high}" data-deep="{deep[3] - low[1]}" '
        f'fill="currentColor" font-family="{SERIF}">{body}</svg>'
    )
