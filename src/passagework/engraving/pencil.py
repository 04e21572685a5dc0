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

WAVER: Final = 0.2 * SPACE
"""How far a hand strays from the line it means, in units."""
OPENING: Final = 2.4 * SPACE
"""How fast the end of a ring leaves its beginning: units to a whole turn."""
LONGEST_CORNER: Final = 2.4 * SPACE
"""Longest half axis of a ring's corner."""
ROUNDNESS: Final = 2.3
"""Exponent of the superellipse in the corners: 2 is an ellipse, more is squarer."""
BULGE: Final = 0.3 * SPACE
"""How far the long side of a ring swells in its middle."""
CORNER_POINTS: Final = 4
STEP: Final = 2.2 * SPACE
"""Distance between the points of a stroke."""


def seed(*parts: str) -> random.Random:
    """A source of chance that depends on `parts` alone (not on the run of the program)."""
    digest = hashlib.sha256("\0".join(parts).encode("utf-8")).digest()
    return random.Random(int.from_bytes(digest[:8], "big"))


def ring(box: Box, chance: random.Random) -> list[list[Point]]:
    """Two turns around `box`, the second one a little off; both contain the box."""
    return [_turn(box, chance, extra) for extra in (0.0, 0.14 * SPACE)]


def line(start: Point, end: Point, chance: random.Random) -> list[Point]:
    """A wavering line; it keeps within `WAVER` of the straight one."""
    length = math.dist(start, end)
    count = max(3, round(length / (2 * STEP)))
    wave = _Wave(chance, count / 2)
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


def circle(x: float, y: float, radius: float, chance: random.Random) -> list[Point]:
    """One turn around a figure, its ends crossing."""
    wave = _Wave(chance, 4)
    count = 14
    start = chance.uniform(200, 320)
    points = []
    for i in range(count + 3):
        a = math.radians(start + 360 * i / count)
        r = radius * (1 + 0.07 * wave(i / count) + 0.1 * max(0.0, i / count - 0.9))
        points.append((x + r * math.cos(a), y + 0.96 * r * math.sin(a)))
    return points


def _turn(box: Box, chance: random.Random, extra: float) -> list[Point]:
    """A little more than once around: the end passes the beginning, as it does on paper."""
    pad = WAVER + extra
    outline = _rounded(box[0] - pad, box[1] - pad, box[2] + pad, box[3] + pad)
    count = len(outline)
    wave = _Wave(chance, count / 3)
    # begun at the upper left, where a right hand begins
    start = count - chance.randrange(2, 6)
    points = []
    for i in range(count + max(3, count // 14) + 1):
        x, y, nx, ny = outline[(start + i) % count]
        # the hand opens outwards as it closes the ring, so that both ends can be seen
        off = (wave(i / count) + 1) * 0.5 * WAVER + OPENING * max(0.0, i / count - 0.9)
        points.append((x + nx * off, y + ny * off))
    return points


def _rounded(
    left: float, top: float, right: float, bottom: float
) -> list[tuple[float, float, float, float]]:
    """Points and outward normals of a round-cornered outline that contains a box, corners and all.

    The corners are quarters of a superellipse; one with half axes a, b and this exponent leaves
    a (1 - 2^(-1/n)) of the corner outside, by which the outline is moved out first.
    """
    a = min(LONGEST_CORNER, (right - left) / 2)
    b = min(LONGEST_CORNER, (bottom - top) / 2)
    out = 1 - 2 ** (-1 / ROUNDNESS)
    a, b = a / (1 - out), b / (1 - out)
    left, right = left - out * a, right + out * a
    top, bottom = top - out * b, bottom + out * b
    points: list[tuple[float, float, float, float]] = []

    def side(x0: float, y0: float, x1: float, y1: float) -> None:
        length = math.hypot(x1 - x0, y1 - y0)
        count = max(1, round(length / STEP))
        nx, ny = ((y1 - y0) / length, (x0 - x1) / length) if length > 1 else (0.0, 0.0)
        for i in range(count):
            t = i / count
            bulge = 4 * t * (1 - t) * min(BULGE, length / 12)
            points.append(
                (x0 + (x1 - x0) * t + nx * bulge, y0 + (y1 - y0) * t + ny * bulge, nx, ny)
            )

    def corner(cx: float, cy: float, begin: float) -> None:
        for i in range(CORNER_POINTS):
            angle = math.radians(begin + i * 90 / CORNER_POINTS)
            c, s = math.cos(angle), math.sin(angle)
            x = math.copysign(abs(c) ** (2 / ROUNDNESS), c)
            y = math.copysign(abs(s) ** (2 / ROUNDNESS), s)
            points.append((cx + a * x, cy + b * y, c, s))

    side(left + a, top, right - a, top)
    corner(right - a, top + b, -90)
    side(right, top + b, right, bottom - b)
    corner(right - a, bottom - b, 0)
    side(right - a, bottom, left + a, bottom)
    corner(left + a, bottom - b, 90)
    side(left, bottom - b, left, top + b)
    corner(left + a, top + b, 180)
    return points


class _Wave:
    """A function of 0 to 1 (and a little beyond) with values from -1 to 1."""

    def __init__(self, chance: random.Random, count: float) -> None:
        most = max(2.0, min(9.0, count / 3))
        self._terms = [
            (chance.uniform(1.0, most), chance.uniform(0, 2 * math.pi), weight)
            for weight in (0.5, 0.3, 0.2)
        ]

    def __call__(self, t: float) -> float:
        return sum(w * math.sin(2 * math.pi * f * t + p) for f, p, w in self._terms)
