"""Strokes of a soft pencil: closed rings, lines and figures that waver a little, always the same way.

A stroke is drawn from points through which a smooth line is laid. What makes it waver is a few slow
waves whose phases come from a seed, so that the same place looks the same on every page and every day.
"""

from __future__ import annotations

import hashlib
import math
import random
from collections.abc import Sequence
from typing import Final

from passagework.engraving.layout import SPACE
from passagework.engraving.system import Box

Point = tuple[float, float]

GRAPHITE: Final = "#4d4d4d"
"""A soft pencil on white paper."""
FAINT: Final = "#8c8c8c"
"""The second, lighter turn of the hand."""
SHADE: Final = "#dcdcdc"
"""The side of the pencil, rubbed under notes that stay readable."""

PENCIL_MM: Final = 0.34
"""Width of a pencil line in millimetres, whatever the size of the music."""

WAVER: Final = 0.16 * SPACE
"""How far a hand strays from the line it means, in units."""
CORNER: Final = 1.6 * SPACE
"""Radius at the ends of a long ring."""
STEP: Final = 2.2 * SPACE
"""Distance between the points of a stroke."""


def seed(*parts: str) -> random.Random:
    """A source of chance that depends on `parts` alone (not on the run of the program)."""
    digest = hashlib.sha256("\0".join(parts).encode("utf-8")).digest()
    return random.Random(int.from_bytes(digest[:8], "big"))  # noqa: S311


def ring(box: Box, chance: random.Random) -> list[list[Point]]:
    """Two turns around `box`, the second one a little off; both contain the box."""
    return [_turn(box, chance, extra) for extra in (0.0, 0.12 * SPACE)]


def line(start: Point, end: Point, chance: random.Random) -> list[Point]:
    """A wavering line; it keeps within `WAVER` of the straight one."""
    length = math.dist(start, end)
    count = max(3, round(length / (2 * STEP)))
    wave = _waves(chance, count)
    along = ((end[0] - start[0]) / (length or 1), (end[1] - start[1]) / (length or 1))
    points = []
    for i in range(count + 1):
        t = i / count
        off = wave(t) * WAVER * 0.6
        points.append(
            (
                start[0] + (end[0] - start[0]) * t - along[1] * off,
                start[1] + (end[1] - start[1]) * t + along[0] * off,
            )
        )
    return points


def path(points: Sequence[Point]) -> str:
    """Path data of a smooth stroke through the middles between `points`, from the first to the last."""
    x, y = round(points[0][0]), round(points[0][1])
    parts = [f"M{x} {y}"]
    for i in range(1, len(points) - 1):
        control = points[i]
        if i < len(points) - 2:
            after = points[i + 1]
            end = ((control[0] + after[0]) / 2, (control[1] + after[1]) / 2)
        else:
            end = points[-1]
        cx, cy, ex, ey = (round(v) for v in (*control, *end))
        parts.append(f"q{cx - x} {cy - y} {ex - x} {ey - y}")
        x, y = ex, ey
    if len(points) == 2:
        parts.append(f"L{round(points[1][0])} {round(points[1][1])}")
    return "".join(parts)


def stroke(points: Sequence[Point], width: float, colour: str = GRAPHITE) -> str:
    """SVG of a stroke of `width` units."""
    return (
        f'<path d="{path(points)}" fill="none" stroke="{colour}" stroke-width="{width:.1f}" '
        'stroke-linecap="round" stroke-linejoin="round"/>'
    )


def extent(strokes: Sequence[Sequence[Point]], pad: float = 0.0) -> Box:
    """The box around strokes."""
    xs = [p[0] for s in strokes for p in s]
    ys = [p[1] for s in strokes for p in s]
    return (
        math.floor(min(xs) - pad),
        math.floor(min(ys) - pad),
        math.ceil(max(xs) + pad),
        math.ceil(max(ys) + pad),
    )


def _turn(box: Box, chance: random.Random, extra: float) -> list[Point]:
    """A little more than once around: the end passes the beginning, as it does on paper."""
    # a chord between two points of the outline cuts inside it: WAVER more keeps the box in
    pad = 2 * WAVER + extra
    left, top, right, bottom = box[0] - pad, box[1] - pad, box[2] + pad, box[3] + pad
    outline = _rounded(left, top, right, bottom)
    count = len(outline)
    wave = _waves(chance, count / 2)
    start = chance.randrange(count // 8, max(count // 8 + 1, count // 4))
    turns = count + max(2, count // 12)
    points = []
    for i in range(turns + 1):
        x, y, nx, ny = outline[(start + i) % count]
        # the hand opens outwards as it closes the ring, so that both ends can be seen
        off = (wave(i / count) + 1) * 0.5 * WAVER + WAVER * 0.9 * max(0.0, i / count - 0.85)
        points.append((x + nx * off, y + ny * off))
    return points


def _rounded(
    left: float, top: float, right: float, bottom: float
) -> list[tuple[float, float, float, float]]:
    """Points and outward normals of a box with round corners that pass outside its own corners."""
    wide, high = right - left, bottom - top
    r = min(CORNER, wide / 2, high / 2)
    # a quarter circle of radius r cuts the corner by 0.29 r; the box is grown by part of it
    grow = 0.22 * r
    left, top, right, bottom = left - grow, top - grow * 0.6, right + grow, bottom + grow * 0.6
    points: list[tuple[float, float, float, float]] = []

    def side(x0: float, y0: float, x1: float, y1: float, nx: float, ny: float) -> None:
        count = max(1, round(math.hypot(x1 - x0, y1 - y0) / STEP))
        for i in range(count):
            t = i / count
            bulge = 4 * t * (1 - t) * 0.12 * SPACE
            points.append(
                (x0 + (x1 - x0) * t + nx * bulge, y0 + (y1 - y0) * t + ny * bulge, nx, ny)
            )

    def corner(cx: float, cy: float, begin: float) -> None:
        for i in range(4):
            a = math.radians(begin + i * 22.5)
            points.append((cx + r * math.cos(a), cy + r * math.sin(a), math.cos(a), math.sin(a)))

    side(left + r, top, right - r, top, 0, -1)
    corner(right - r, top + r, -90)
    side(right, top + r, right, bottom - r, 1, 0)
    corner(right - r, bottom - r, 0)
    side(right - r, bottom, left + r, bottom, 0, 1)
    corner(left + r, bottom - r, 90)
    side(left, bottom - r, left, top + r, -1, 0)
    corner(left + r, top + r, 180)
    return points


class _Wave:
    def __init__(self, chance: random.Random, count: float) -> None:
        most = max(2.0, min(9.0, count / 3))
        self._terms = [
            (chance.uniform(1.0, most), chance.uniform(0, 2 * math.pi), weight)
            for weight in (0.5, 0.3, 0.2)
        ]

    def __call__(self, t: float) -> float:
        return sum(w * math.sin(2 * math.pi * f * t + p) for f, p, w in self._terms)


def _waves(chance: random.Random, count: float) -> _Wave:
    """A function of 0 to 1 with values from -1 to 1."""
    return _Wave(chance, count)
