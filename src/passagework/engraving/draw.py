"""Marks laid over engraved music: the last step, from an `Engraving` to finished SVG."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from passagework.engraving import lettering, pencil, rings
from passagework.engraving.layout import SPACE, Layout
from passagework.engraving.marks import Chord, Grey, Mark, Ring, Tune, Word
from passagework.engraving.placing import Room
from passagework.engraving.rings import PAD, Drawn
from passagework.engraving.strokes import PER_THOUSAND
from passagework.engraving.system import Box, EngravedSystem, Engraving, union

SERIF: Final = (
    "Palatino, 'Palatino Linotype', P052, 'Book Antiqua', 'Libertinus Serif', Georgia, serif"
)
"""Faces for the words in the music: those of readers' systems, then the typesetter's own."""

GREYED: Final = "#b4b4b4"
"""Notes set back: still readable, and a clear step from ink on any printer."""

_GLYPH_USE = re.compile(r'href="#([0-9A-F]{4,5})"')
_KEY = re.compile(r'<g id="(~\d+)"')


@dataclass(frozen=True)
class System:
    """One finished system.

    `svg` is complete in itself; ids in it are the notation's own (notes, rests, bars) and those of
    the music characters. Several in one HTML document: see `passagework.engraving.together`.
    """

    svg: str
    width_mm: float
    height_mm: float
    measures: tuple[str, ...]
    """Ids of its bars."""
    notes: frozenset[str]
    """Ids of the notes and rests on it."""


def draw(
    engraving: Engraving, layout: Layout, marks: Sequence[Mark] = (), *, shrink: bool = False
) -> list[System]:
    """Every system of `engraving` with the marks that fall on it.

    `shrink` makes a system that does not fill the width of the layout as narrow as it is.
    """
    grey = frozenset(i for m in marks if isinstance(m, Grey) for i in m.ids)
    on = rings.pieces(engraving.systems, [m for m in marks if isinstance(m, Ring)])
    return [
        _system(system, here, grey, marks, layout, engraving.outlines, shrink)
        for system, here in zip(engraving.systems, on, strict=True)
    ]


def _system(
    system: EngravedSystem,
    here: Sequence[rings.Piece],
    grey: frozenset[str],
    marks: Sequence[Mark],
    layout: Layout,
    outlines: dict[str, str],
    shrink: bool,
) -> System:
    behind = bands(system, marks)
    ringed = [rings.draw_piece(piece, system, layout) for piece in here]
    numbers = rings.margin_numbers(here, system, layout)
    room = Room([*system.obstacles, *(n.box for n in numbers)])
    for top, bottom in system.staves:
        room.take((system.edges[0], top, system.edges[1], bottom))
    numbers += rings.near_numbers(here, ringed, room, layout)
    drawn = [*ringed, *numbers]
    drawn += lettering.set_words(system, [m for m in marks if isinstance(m, Word)], room)
    ink = union([system.ink, *(d.box for d in drawn), *(d.box for d in behind)])
    drawn += lettering.set_chords(system, [m for m in marks if isinstance(m, Chord)], ink[3])
    body = "".join(d.svg for d in behind) + _greyed(system, grey) + "".join(d.svg for d in drawn)
    box = paper(union([ink, *(d.box for d in drawn)]), layout, shrink)
    width, height = (box[2] - box[0]) * layout.mm, (box[3] - box[1]) * layout.mm
    return System(
        svg=_wrap(body, box, width, height, _defs(body, outlines)),
        width_mm=round(width, 2),
        height_mm=round(height, 2),
        measures=tuple(m.id for m in system.measures),
        notes=frozenset(system.notes),
    )


def _greyed(system: EngravedSystem, grey: frozenset[str]) -> str:
    """The body with the notes of `grey` set back, and without the keys of groups."""
    body = system.body
    tint = f' fill="{GREYED}" color="{GREYED}"'
    if grey:
        for note in grey & system.notes.keys():
            body = body.replace(f'<g id="{note}"', f'<g id="{note}"{tint}', 1)
    return _KEY.sub(
        lambda m: (
            f"<g{tint}"
            if m[1] in system.members and grey.issuperset(system.members[m[1]])
            else "<g"
        ),
        body,
    )


def plain_body(system: EngravedSystem) -> str:
    """The body of a system without the keys of its groups, nothing greyed."""
    return _greyed(system, frozenset())


def bands(system: EngravedSystem, marks: Iterable[Mark]) -> list[Drawn]:
    """The bands of soft pencil behind the tunes among `marks`."""
    found = []
    for tune in marks:
        if not isinstance(tune, Tune):
            continue
        points = []
        for note in tune.ids:
            if note in system.notes:
                box = system.notes[note].head
                points.append(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2))
        if not points:
            continue
        if len(points) == 1:
            points = [(points[0][0] - 1, points[0][1]), (points[0][0] + 1, points[0][1])]
        found.append(_band(points))
    return found


BAND: Final = 1.25 * SPACE
"""Width of the band behind a tune: a notehead and a little paper."""


def _band(points: list[tuple[float, float]]) -> Drawn:
    d = "M" + "L".join(f"{x:.0f} {y:.0f}" for x, y in points)
    svg = (
        f'<path d="{d}" fill="none" stroke="{pencil.SHADE}" stroke-width="{BAND:.0f}" '
        'stroke-linecap="round" stroke-linejoin="round"/>'
    )
    return Drawn(svg, pencil.extent([points], BAND / 2))


def paper(ink: Box, layout: Layout, shrink: bool = False) -> Box:
    """The page's box: the same width for every system of a layout, unless ink stands outside it."""
    left = min(-round(layout.margin_mm / layout.mm), ink[0] - PAD)
    right = ink[2] + PAD if shrink else max(left + layout.units, ink[2] + PAD)
    return left, ink[1] - PAD, right, ink[3] + PAD


def _wrap(body: str, box: Box, width: float, height: float, defs: str) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box[0]} {box[1]} {box[2] - box[0]} {box[3] - box[1]}" '
        f'width="{width:.2f}mm" height="{height:.2f}mm" fill="currentColor" color="#000" '
        f'font-family="{SERIF}">{defs}{body}</svg>'
    )


def _defs(body: str, outlines: dict[str, str]) -> str:
    names = sorted(set(_GLYPH_USE.findall(body)))
    return "<defs>" + "".join(glyph_definition(n, outlines.get(n, "")) for n in names) + "</defs>"


def glyph_definition(name: str, outline: str) -> str:
    """The outline of a music character at full size, upright, under its name."""
    return (
        f'<path id="{name}" transform="scale({PER_THOUSAND:g} -{PER_THOUSAND:g})" d="{outline}"/>'
    )
