"""Single shapes of the engraver's SVG, rewritten in units and measured."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, Final

from lxml import etree

from passagework.engraving import glyphs
from passagework.engraving.layout import PER_UNIT
from passagework.engraving.system import Box, union

FULL_SIZE: Final = 0.72
"""The engraver's scale of a music character at full size: 720 to a staff's height of 1000."""

PER_THOUSAND: Final = FULL_SIZE / PER_UNIT
"""Units to a thousandth of the music font's em, at full size."""

_NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")
_LINE = re.compile(r"M(-?\d+) (-?\d+) L(-?\d+) (-?\d+)$")
_USE = re.compile(
    r"translate\((-?[\d.]+), (-?[\d.]+)\) scale\((-?[\d.]+), (-?[\d.]+)\)"
)  # fmt: skip
_CURVE_SAMPLES: Final = 6
"""Pieces into which a slur is cut to say what room it takes."""


@dataclass(frozen=True, slots=True)
class Shape:
    """SVG text of a shape and the box of its ink; `obstacles` are finer boxes where one is too coarse."""

    svg: str
    box: Box
    glyphs: frozenset[str] = frozenset()
    obstacles: tuple[Box, ...] = ()


@dataclass(frozen=True, slots=True)
class Rotation:
    """A turn by `angle` degrees around a point in units."""

    angle: float
    x: float
    y: float

    @property
    def svg(self) -> str:
        """As an SVG transform."""
        return f"rotate({self.angle:g} {self.x:g} {self.y:g})"

    def turned(self, box: Box) -> Box:
        """The box around `box` after the turn."""
        a = math.radians(self.angle)
        points = [
            (
                self.x + (x - self.x) * math.cos(a) - (y - self.y) * math.sin(a),
                self.y + (x - self.x) * math.sin(a) + (y - self.y) * math.cos(a),
            )
            for x in (box[0], box[2])
            for y in (box[1], box[3])
        ]
        return _hull(points, 0)


def rotation(angle: float, x: float, y: float) -> Rotation:
    """A turn given in the engraver's coordinates."""
    return Rotation(angle, round(x / PER_UNIT), round(y / PER_UNIT))


def shape(tag: str, node: Any) -> Shape | None:
    """The shape of an element, None where it draws nothing."""
    if tag == "use":
        return _use(node)
    if tag == "path":
        return _path(node)
    if tag in {"polygon", "polyline"}:
        return _poly(tag, node)
    if tag == "ellipse":
        return _ellipse(node)
    if tag == "rect":
        return _rect(node)
    return None


def level_line(node: Any) -> tuple[int, int, int] | None:
    """Left, right and height of an element that is a level line, else None."""
    if etree.QName(node).localname != "path":
        return None
    found = _LINE.match(node.get("d") or "")
    if found is None:
        return None
    x0, y0, x1, y1 = (int(v) for v in found.groups())
    if y0 != y1:
        return None
    return _u(min(x0, x1)), _u(max(x0, x1)), _u(y0)


def bar(x0: int, y0: int, x1: int, y1: int, width: int) -> str:
    """Path data of a level or upright line as a filled bar of `width`."""
    half = width / 2
    if y0 == y1:
        return f"M{x0} {_n(y0 - half)}H{x1}v{width}H{x0}z"
    return f"M{_n(x0 - half)} {y0}V{y1}h{width}V{y0}z"


def glyph(name: str, x: float, y: float, scale: float = 1.0) -> Shape:
    """A music character with its origin at x, y; `scale` 1 is full size."""
    m = glyphs.measure(name)
    k = PER_THOUSAND * scale
    box = (
        math.floor(x + m.x * k),
        math.floor(y - (m.y + m.height) * k),
        math.ceil(x + (m.x + m.width) * k),
        math.ceil(y - m.y * k),
    )
    if abs(scale - 1) < 0.005:
        svg = f'<use href="#{name}" x="{_n(x)}" y="{_n(y)}"/>'
    else:
        svg = f'<use href="#{name}" transform="translate({_n(x)} {_n(y)})scale({scale:.3g})"/>'
    return Shape(svg, box, frozenset({name}))


def _use(node: Any) -> Shape | None:
    name = (node.get("href") or "").lstrip("#").partition("-")[0]
    found = _USE.match(node.get("transform") or "")
    if not name or found is None:
        return None
    x, y, k, _ = (float(v) for v in found.groups())
    return glyph(name, _u(x), _u(y), k / FULL_SIZE)


def _path(node: Any) -> Shape | None:
    d = node.get("d") or ""
    wide = float(node.get("stroke-width") or 1)
    thick = max(1, round(wide / PER_UNIT))
    line = _LINE.match(d)
    if line is not None:
        x0, y0, x1, y1 = (_u(float(v)) for v in line.groups())
        box = _hull([(x0, y0), (x1, y1)], thick // 2)
        dashes = node.get("stroke-dasharray")
        if dashes is None and (x0 == x1 or y0 == y1):
            return Shape(f'<path d="{bar(x0, y0, x1, y1, thick)}"/>', box)
        more = ""
        if dashes:
            more = f' stroke-dasharray="{" ".join(str(_u(float(v))) for v in _NUMBERS.findall(dashes))}"'
        return Shape(
            f'<path d="M{x0} {y0}L{x1} {y1}" stroke="currentColor" stroke-width="{thick}"{more}/>',
            box,
        )
    points = _points(d)
    if not points:
        return None
    if "C" not in d:
        return Shape(f'<path d="{_scaled(d)}"/>', _hull(points, 0))
    samples = _curve(points)
    pieces = tuple(_hull([a, b], max(2, thick)) for a, b in pairwise(samples))
    svg = f'<path d="{_scaled(d)}" stroke="currentColor" stroke-width="{thick}" stroke-linejoin="round"/>'
    return Shape(svg, union(list(pieces)), obstacles=pieces)


def _curve(points: list[tuple[int, int]]) -> list[tuple[float, float]]:
    """Points on the cubic pieces of a path ``M p C p p p C p p p`` (the thick of a slur goes there and back)."""
    found: list[tuple[float, float]] = []
    for i in range(0, len(points) - 3, 3):
        p0, p1, p2, p3 = points[i : i + 4]
        for step in range(_CURVE_SAMPLES + 1):
            t = step / _CURVE_SAMPLES
            s = 1 - t
            found.append(
                (
                    s**3 * p0[0] + 3 * s * s * t * p1[0] + 3 * s * t * t * p2[0] + t**3 * p3[0],
                    s**3 * p0[1] + 3 * s * s * t * p1[1] + 3 * s * t * t * p2[1] + t**3 * p3[1],
                )
            )
    return found or [(float(x), float(y)) for x, y in points]


def _poly(tag: str, node: Any) -> Shape | None:
    points = _points(node.get("points") or "")
    if len(points) < 2:
        return None
    d = "M" + "L".join(f"{x} {y}" for x, y in points)
    if tag == "polygon":
        return Shape(f'<path d="{d}z"/>', _hull(points, 0))
    thick = max(1, round(float(node.get("stroke-width") or 1) / PER_UNIT))
    svg = f'<path d="{d}" fill="none" stroke="currentColor" stroke-width="{thick}"/>'
    return Shape(svg, _hull(points, thick // 2))


def _ellipse(node: Any) -> Shape:
    cx, cy, rx, ry = (_u(float(node.get(k) or 0)) for k in ("cx", "cy", "rx", "ry"))
    box = (cx - rx, cy - ry, cx + rx, cy + ry)
    if rx == ry:
        return Shape(f'<circle cx="{cx}" cy="{cy}" r="{rx}"/>', box)
    return Shape(f'<ellipse cx="{cx}" cy="{cy}" rx="{rx}" ry="{ry}"/>', box)


def _rect(node: Any) -> Shape:
    x, y, w, h = (_u(float(node.get(k) or 0)) for k in ("x", "y", "width", "height"))
    w, h = max(1, w), max(1, h)
    return Shape(f'<path d="M{x} {y}h{w}v{h}h{-w}z"/>', (x, y, x + w, y + h))


def _points(text: str) -> list[tuple[int, int]]:
    values = [_u(float(v)) for v in _NUMBERS.findall(text)]
    return list(zip(values[::2], values[1::2], strict=False))


def _scaled(d: str) -> str:
    """Path data in units: absolute commands only, which is all the engraver writes for lines."""
    d = _NUMBERS.sub(lambda m: str(_u(float(m.group()))), d)
    return re.sub(r"\s*([A-Za-z])\s*", r"\1", d.replace(",", " "))


def _hull(points: Any, pad: int) -> Box:
    xs = [p[0] for p in points]
    ys = [p[1] for p in points]
    return (
        math.floor(min(xs)) - pad,
        math.floor(min(ys)) - pad,
        math.ceil(max(xs)) + pad,
        math.ceil(max(ys)) + pad,
    )


def _u(value: float) -> int:
    return round(value / PER_UNIT)


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")
