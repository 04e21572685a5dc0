"""Rings and brackets around spots, and their numbers in the margin."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from passagework.engraving import pencil
from passagework.engraving.layout import SPACE, Layout
from passagework.engraving.marks import Ring
from passagework.engraving.placing import Room
from passagework.engraving.strokes import Shape
from passagework.engraving.system import Box, EngravedSystem, grown, union
from passagework.engraving.text import words

LONG_SYSTEMS: Final = 1.1
"""A spot that fills more than so many systems is bracketed instead of ringed."""
PAD: Final = SPACE // 3
"""Paper kept around everything drawn."""
AIR: Final = SPACE // 4
"""Paper between the notes and their ring."""
NUMBER_RADIUS: Final = round(1.5 * SPACE)
NUMBER_SIZE: Final = round(2.05 * SPACE)
SMALL_SIZE: Final = round(1.5 * SPACE)
NUMBER_GAP: Final = 3 * SPACE // 5


@dataclass(frozen=True, slots=True)
class Drawn:
    """SVG of marks and the box that they take."""

    svg: str
    box: Box


@dataclass(frozen=True, slots=True)
class Piece:
    """The part of one ring that lies on one system."""

    ring: Ring
    box: Box
    staves: tuple[int, ...]
    first: bool
    """Whether the spot begins here."""
    last: bool
    long: bool


def pieces(systems: Sequence[EngravedSystem], rings: Sequence[Ring]) -> list[list[Piece]]:
    """For every system the rings on it, in the order of `rings`."""
    found: list[list[Piece]] = [[] for _ in systems]
    for ring in rings:
        on = []
        for index, system in enumerate(systems):
            here = [system.notes[i] for i in ring.ids if i in system.notes]
            if here:
                staves = tuple(sorted({p.staff for p in here}))
                on.append((index, union([p.full for p in here]), staves))
        wide = sum(
            (box[2] - box[0]) / max(1, systems[i].edges[1] - systems[i].edges[0])
            for i, box, _ in on
        )
        long = wide > LONG_SYSTEMS
        for place, (index, box, staves) in enumerate(on):
            found[index].append(Piece(ring, box, staves, place == 0, place == len(on) - 1, long))
    return found


def draw_piece(piece: Piece, system: EngravedSystem, layout: Layout) -> Drawn:
    """The ring, or the part of the bracket, of one spot on one system."""
    chance = pencil.seed(*piece.ring.ids[:1], *piece.ring.ids[-1:], str(len(piece.ring.ids)))
    width = pencil.PENCIL_MM / layout.mm
    if piece.long:
        return _bracket(piece, system, width)
    turns = pencil.ring(grown(piece.box, AIR, AIR), chance)
    turns = [_kept_left(turn, piece.box[2], _page_edge(layout) - width) for turn in turns]
    svg = pencil.stroke(turns[1], width * 0.8, pencil.FAINT) + pencil.stroke(turns[0], width)
    return Drawn(svg, pencil.extent(turns, width))


def _page_edge(layout: Layout) -> float:
    """The right edge of the paper in units."""
    return layout.units - layout.margin_mm / layout.mm - PAD


def _kept_left(turn: list[pencil.Point], notes: float, edge: float) -> list[pencil.Point]:
    """A turn drawn closer to its notes, which end at `notes`, where it would leave the paper."""
    most = max(x for x, _ in turn)
    if most <= edge or edge <= notes:
        return turn
    closer = (edge - notes) / (most - notes)
    return [(notes + (x - notes) * closer if x > notes else x, y) for x, y in turn]


def _bracket(piece: Piece, system: EngravedSystem, width: float) -> Drawn:
    """A level pencil line outside the passage, with a hook where it begins and where it ends."""
    chance = pencil.seed(piece.ring.ids[0], str(piece.box[0]))
    left = piece.box[0] - AIR if piece.first else system.edges[0] + SPACE
    right = piece.box[2] + AIR if piece.last else system.edges[1]
    below = bool(piece.staves) and min(piece.staves) > 0
    room = Room(system.obstacles)
    if below:
        edge = system.staves[piece.staves[-1]][1]
        y = max(room.reach(left, right, edge - SPACE, False, 10**6), edge) + SPACE
    else:
        edge = system.staves[piece.staves[0]][0]
        y = min(room.reach(left, right, edge + SPACE, True, -(10**6)), edge) - SPACE
    hook = SPACE if not below else -SPACE
    strokes = [pencil.line((left, y), (right, y), chance)]
    if piece.first:
        strokes.append(pencil.line((left, y + hook), (left, y), chance))
    if piece.last:
        strokes.append(pencil.line((right, y), (right, y + hook), chance))
    svg = "".join(pencil.stroke(s, width) for s in strokes)
    return Drawn(svg, pencil.extent(strokes, width))


def near_numbers(
    here: Sequence[Piece], drawn: Sequence[Drawn], room: Room, layout: Layout
) -> list[Drawn]:
    """What `numbers_near` draws."""
    return [figure for _, figure in numbers_near(here, drawn, room, layout)]


def numbers_near(
    here: Sequence[Piece], drawn: Sequence[Drawn], room: Room, layout: Layout
) -> list[tuple[str, Drawn]]:
    """Small numbers beside rings that the margin alone would leave in doubt.

    That is every ring of a system that has several, and one that comes over from the system before.
    Each stands on the first free corner of its ring; `room` learns where.
    """
    found: list[tuple[str, Drawn]] = []
    for piece, ring in zip(here, drawn, strict=True):
        number = piece.ring.number
        if not number or (len(here) == 1 and piece.first):
            continue
        corners = [
            c for c in _corners(number, ring.box, piece.long) if c.box[2] <= _page_edge(layout)
        ]
        if not corners:  # a page too narrow for any; the margin still tells
            continue
        figure = next((f for f in corners if room.free(f.box)), corners[0])
        room.take(figure.box)
        found.append((number, Drawn(figure.svg, figure.box)))
    return found


def _corners(number: str, box: Box, level: bool) -> list[Shape]:
    """The number outside each corner of a ring (above or below a bracket), the usual one first."""
    places: list[tuple[float, float]]
    above, below = box[1] - SPACE / 5, box[3] + 0.72 * SMALL_SIZE
    left, right = box[0] + SPACE, box[2] - SPACE
    places = [(left, above), (right, above), (left, below), (right, below)]
    if not level:
        places += [(box[0] - SPACE / 2, y) for y in (above + SPACE, below - SPACE)]
        places += [(box[2] + SPACE / 2, y) for y in (above + SPACE, below - SPACE)]
    return [
        words(number, x, y, SMALL_SIZE, anchor="middle", more=f' fill="{pencil.GRAPHITE}"')
        for x, y in places
    ]


def margin_numbers(here: Sequence[Piece], system: EngravedSystem, layout: Layout) -> list[Drawn]:
    """What `numbers_in_margin` draws."""
    return [figure for _, figure in numbers_in_margin(here, system, layout)]


def numbers_in_margin(
    here: Sequence[Piece], system: EngravedSystem, layout: Layout
) -> list[tuple[str, Drawn]]:
    """Numbers of the spots that begin on a system, beside it, one under the other.

    None where the layout has no margin for them.
    """
    if layout.margin_mm / layout.mm < 2 * NUMBER_RADIUS:
        return []
    wanted = []
    for piece in here:
        if piece.first and piece.ring.number:
            top = system.staves[piece.staves[0]][0] if piece.staves else piece.box[1]
            bottom = system.staves[piece.staves[-1]][1] if piece.staves else piece.box[3]
            wanted.append(((top + bottom) / 2, piece.ring))
    wanted.sort(key=lambda row: row[0])
    heights = _apart([y for y, _ in wanted], 2 * NUMBER_RADIUS + NUMBER_GAP)
    x = -layout.margin_mm / layout.mm + 1.25 * NUMBER_RADIUS + PAD
    return [
        (ring.number, _number(ring, x, y, layout))
        for (_, ring), y in zip(wanted, heights, strict=True)
    ]


def _apart(heights: Sequence[float], distance: float) -> list[float]:
    """`heights` in order, moved as little as keeps neighbours `distance` apart.

    Heights that meet form a block around their middle (isotonic regression by pooling neighbours).
    """
    blocks: list[tuple[float, int]] = []
    for index, y in enumerate(heights):
        blocks.append((y - index * distance, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (a, m), (b, n) = blocks[-2:]
            blocks[-2:] = [((a * m + b * n) / (m + n), m + n)]
    level = [value for value, count in blocks for _ in range(count)]
    return [value + index * distance for index, value in enumerate(level)]


def _number(ring: Ring, x: float, y: float, layout: Layout) -> Drawn:
    chance = pencil.seed("number", ring.number, *ring.ids[:1])
    turn = pencil.circle(x, y, NUMBER_RADIUS, chance)
    width = pencil.PENCIL_MM / layout.mm
    size = NUMBER_SIZE if len(ring.number) < 3 else NUMBER_SIZE * 0.75
    figure = words(
        ring.number, x, y + 0.34 * size, size, anchor="middle", more=f' fill="{pencil.GRAPHITE}"'
    )
    svg = pencil.stroke(turn, width) + figure.svg
    return Drawn(svg, union([pencil.extent([turn], width), figure.box]))
