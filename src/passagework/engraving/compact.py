"""The engraver's SVG of one system to an `EngravedSystem`: smaller, and with every note's place.

What the engraver draws is rewritten in units (see `layout`): lines become filled bars, staff lines
are joined across bars, glyphs are placed by ``x`` and ``y``, groups that nothing refers to are
dissolved. On the way every shape is measured, so that no bounding boxes need be asked for.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final

from lxml import etree

from passagework.engraving import strokes
from passagework.engraving.layout import PER_UNIT, SPACE
from passagework.engraving.strokes import Shape
from passagework.engraving.system import Box, EngravedSystem, MeasurePlace, NotePlace, union
from passagework.engraving.text import set_text

DROPPED: Final = frozenset({"labelAbbr", "label", "sb", "pb", "space", "mSpace"})
"""Groups that are not drawn: names of parts, marks of breaks, room kept for hidden notes."""

OWN: Final = frozenset({"note", "rest", "mRest", "multiRest"})
"""Groups that carry the notation's own id."""

GATHERING: Final = frozenset({"beam", "chord", "tuplet", "bTrem", "fTrem", "graceGrp"})
"""Groups that belong to all the notes inside them."""

_ROTATE = re.compile(r"rotate\((-?[\d.]+) (-?[\d.]+),(-?[\d.]+)\)")


def compact(
    svg: str, staff_of: Mapping[str, int], chords: dict[str, tuple[str, ...]]
) -> EngravedSystem:
    """Rewrite one page that holds one system.

    `staff_of` gives the staff (1 is the upper one) of every note id; `chords` collects the engraver's
    own ids of chords from page to page, for marks that refer to them later.
    """
    root = etree.fromstring(svg.encode("utf-8"), etree.XMLParser(huge_tree=True))
    walker = _Walker(staff_of, chords)
    page = next(g for g in root.iter("{*}g") if g.get("class") == "page-margin")
    for child in page:
        walker.visit(child)
    return walker.system()


class _Walker:
    def __init__(self, staff_of: Mapping[str, int], chords: dict[str, tuple[str, ...]]) -> None:
        self.staff_of = staff_of
        self.chords = chords
        self.out: list[str] = []
        self.lines: dict[int, list[tuple[int, int]]] = {}
        self.heads: dict[str, Box] = {}
        self.full: dict[str, list[Box]] = {}
        self.opened_at: dict[str, int] = {}
        self.members: dict[str, tuple[str, ...]] = {}
        self.measures: list[MeasurePlace] = []
        self.obstacles: list[Box] = []
        self.glyphs: set[str] = set()
        self.staves: dict[tuple[int, int], None] = {}
        self._note: str | None = None
        self._in_head = False
        self._groups: list[list[str]] = []
        self._chord_boxes: list[list[Box]] = []
        self._ledgers: list[tuple[Box, str]] = []
        self._bar_edges: list[int] = []
        self._bar_notes: list[str] = []

    # groups

    def visit(self, node: Any) -> None:
        tag = etree.QName(node).localname
        if tag == "g":
            self._group(node)
        elif tag == "text":
            self._draw(set_text(node))
        else:
            self._draw(strokes.shape(tag, node))

    def _group(self, node: Any) -> None:
        if node.get("visibility") == "hidden":
            return
        names = (node.get("class") or "").split()
        kind = names[0] if names else ""
        if kind in DROPPED or "placeholder" in names:
            return
        if kind == "measure":
            self._measure(node)
        elif kind == "staff":
            self._staff(node)
        elif kind == "ledgerLines":
            self._ledger_lines(node)
        elif kind in OWN:
            self._own(node, kind)
        elif kind in GATHERING:
            self._gathering(node, kind)
        elif kind == "notehead":
            self._in_head = True
            self._children(node)
            self._in_head = False
        else:
            self._other(node)

    def _children(self, node: Any) -> None:
        for child in node:
            self.visit(child)

    def _measure(self, node: Any) -> None:
        self._bar_edges, self._bar_notes, self._ledgers = [], [], []
        key = node.get("id") or ""
        self.out.append(f'<g id="{key}">')
        place = len(self.out)
        self._children(node)
        self._give_ledgers()
        if len(self.out) == place:
            self.out.pop()
        else:
            self.out.append("</g>")
        if self._bar_edges:
            self.measures.append(MeasurePlace(key, min(self._bar_edges), max(self._bar_edges)))

    def _staff(self, node: Any) -> None:
        lines: list[tuple[int, int, int]] = []
        for child in node:
            line = strokes.level_line(child)
            if line is None:
                self.visit(child)
            else:
                lines.append(line)
        for left, right, y in lines:
            self.lines.setdefault(y, []).append((left, right))
            self._bar_edges += [left, right]
        if lines:
            ys = [y for _, _, y in lines]
            self.staves[min(ys), max(ys)] = None

    def _ledger_lines(self, node: Any) -> None:
        for child in node:
            drawn = strokes.shape(etree.QName(child).localname, child)
            if drawn is not None:
                self._ledgers.append((drawn.box, drawn.svg))

    def _own(self, node: Any, kind: str) -> None:
        key = node.get("id") or ""
        outer, self._note = self._note, key
        self.opened_at[key] = len(self.out)
        self.out.append(f'<g id="{key}">')
        self.full[key] = []
        if kind != "note":
            self._in_head = True
        self._children(node)
        self._in_head = False
        self._note = outer
        if not self.full[key]:
            del self.out[self.opened_at.pop(key) :]
            del self.full[key]
            return
        self.out.append("</g>")
        self.heads.setdefault(key, union(self.full[key]))
        self._bar_notes.append(key)
        for group in self._groups:
            group.append(key)

    def _gathering(self, node: Any, kind: str) -> None:
        inside: list[str] = []
        self._groups.append(inside)
        if kind == "chord":
            self._chord_boxes.append([])
        key = self._open()
        self._children(node)
        self._close(key, tuple(inside))
        self._groups.pop()
        if kind == "chord":
            for note in inside:
                self.full[note] += self._chord_boxes[-1]
            self._chord_boxes.pop()
            self.chords[node.get("id") or ""] = tuple(inside)

    def _other(self, node: Any) -> None:
        """A group that may speak of notes elsewhere (a slur, a finger), or of none."""
        spoken = self._spoken_of(node)
        turn = _ROTATE.match(node.get("transform") or "")
        if not spoken and turn is None:
            self._children(node)
            return
        key = self._open()
        if turn is not None:
            angle, x, y = (float(v) for v in turn.groups())
            mark = strokes.rotation(angle, x, y)
            self.out.append(f'<g transform="{mark.svg}">')
            for child in node:
                drawn = strokes.shape(etree.QName(child).localname, child)
                if drawn is not None:
                    self._draw(Shape(drawn.svg, mark.turned(drawn.box), drawn.glyphs))
            self.out.append("</g>")
        else:
            self._children(node)
        self._close(key, spoken)

    def _spoken_of(self, node: Any) -> tuple[str, ...]:
        ids: list[str] = []
        for name in ("data-startid", "data-endid", "data-plist"):
            for word in (node.get(name) or "").split():
                ids += self.chords.get(word.lstrip("#"), (word.lstrip("#"),))
        return tuple(dict.fromkeys(i for i in ids if i in self.staff_of))

    def _open(self) -> str:
        key = f"~{len(self.members) + 1}"
        self.members[key] = ()
        self.opened_at[key] = len(self.out)
        self.out.append(f'<g id="{key}">')
        return key

    def _close(self, key: str, members: tuple[str, ...]) -> None:
        start = self.opened_at.pop(key)
        if len(self.out) == start + 1:
            self.out.pop()  # the key stays counted, so that no later one is the same
        else:
            self.out.append("</g>")
            self.members[key] = members

    # shapes

    def _draw(self, shape: Shape | None) -> None:
        if shape is None:
            return
        self.out.append(shape.svg)
        self.glyphs |= shape.glyphs
        self.obstacles += shape.obstacles or (shape.box,)
        if self._note is not None:
            self.full[self._note].append(shape.box)
            if self._in_head and self._note not in self.heads:
                self.heads[self._note] = shape.box
        elif self._chord_boxes:
            self._chord_boxes[-1].append(shape.box)

    def _give_ledgers(self) -> None:
        """Put every ledger line into the group of a note that needs it, so that it goes with it."""
        for box, svg in self._ledgers:
            self.obstacles.append(box)
            owner = self._needs(box)
            if owner is None:
                self.out.append(svg)
            else:
                self.out[self.opened_at[owner]] += svg

    def _needs(self, line: Box) -> str | None:
        y = (line[1] + line[3]) // 2
        above = any(y < top and top - y < 30 * SPACE for top, _ in self.staves)
        best: tuple[int, str] | None = None
        for key in self._bar_notes:
            if key not in self.heads or key not in self.opened_at:
                continue
            head = self.heads[key]
            middle, height = (head[0] + head[2]) // 2, (head[1] + head[3]) // 2
            if line[0] <= middle <= line[2]:
                far = abs(height - y)
                beyond = height <= y + SPACE // 3 if above else height >= y - SPACE // 3
                if beyond or far < SPACE:
                    best = min(best, (far, key)) if best else (far, key)
        return best[1] if best else None

    # the whole

    def system(self) -> EngravedSystem:
        """Everything seen so far, as one system."""
        drawn = "".join(self.out)
        lines, edges = self._staff_lines()
        boxes = list(self.obstacles)
        staves = sorted(self.staves)
        boxes += [(edges[0], top, edges[1], bottom) for top, bottom in staves]
        return EngravedSystem(
            body=lines + drawn,
            ink=union(boxes) if boxes else (0, 0, 0, 0),
            staves=tuple(staves),
            edges=edges,
            measures=tuple(self.measures),
            notes={
                key: NotePlace(
                    self.heads[key], union(self.full[key]), self._staff_index(key, len(staves))
                )
                for key in self.full
            },
            members={key: ids for key, ids in self.members.items() if ids},
            obstacles=tuple(self.obstacles),
            glyphs=frozenset(self.glyphs),
        )

    def _staff_index(self, key: str, staves: int) -> int:
        return max(0, min(staves - 1, self.staff_of.get(key, 1) - 1))

    def _staff_lines(self) -> tuple[str, tuple[int, int]]:
        path: list[str] = []
        every: list[int] = []
        for y, pieces in sorted(self.lines.items()):
            for left, right in _joined(pieces):
                every += [left, right]
                path.append(strokes.bar(left, y, right, y, STAFF_LINE))
        if not every:
            return "", (0, 0)
        return f'<path d="{"".join(path)}"/>', (min(every), max(every))


STAFF_LINE: Final = 13 // PER_UNIT
"""Thickness of a staff line in units: 0.07 of a space, as the engraver draws it."""


def _joined(pieces: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Pieces of one line, joined where they meet (rounding may leave a unit between)."""
    joined: list[tuple[int, int]] = []
    for left, right in sorted(pieces):
        if joined and left <= joined[-1][1] + 2:
            joined[-1] = (joined[-1][0], max(joined[-1][1], right))
        else:
            joined.append((left, right))
    return joined
