"""A pencil ring holds what it speaks of, stays near it, and is the same on every day."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from passagework.engraving import pencil
from passagework.engraving.layout import SPACE
from passagework.engraving.system import Box

boxes = st.builds(
    lambda x, y, w, h: (x, y, x + w, y + h),
    st.integers(-200, 9000),
    st.integers(-900, 3000),
    st.integers(20, 7000),
    st.integers(20, 1200),
)


def inside(point: tuple[float, float], polygon: list[tuple[float, float]]) -> bool:
    """Winding number: the turns overlap at their ends, so crossings alone will not do."""
    x, y = point
    turns = 0.0
    for (x0, y0), (x1, y1) in zip(polygon, polygon[1:] + polygon[:1], strict=True):
        a = math.atan2(y0 - y, x0 - x)
        b = math.atan2(y1 - y, x1 - x)
        turns += (b - a + math.pi) % (2 * math.pi) - math.pi
    return abs(turns) > math.pi


def drawn(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Points on the stroke as `pencil.path` draws it: quadratic curves between the middles."""
    middles = [points[0]]
    middles += [((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in pairwise(points[1:-1])]
    middles.append(points[-1])
    found = []
    for start, control, end in zip(middles[:-1], points[1:-1], middles[1:], strict=True):
        for step in range(4):
            t = step / 4
            found.append(
                tuple(
                    (1 - t) ** 2 * start[i] + 2 * t * (1 - t) * control[i] + t * t * end[i]
                    for i in (0, 1)
                )
            )
    return [(x, y) for x, y in found]


@given(boxes, st.text("abcn0123", max_size=5))
def test_a_ring_contains_its_box(box: Box, name: str) -> None:
    for turn in pencil.ring(box, pencil.seed(name)):
        line = drawn(turn)
        for corner in ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])):
            assert inside(corner, line)


@given(boxes, st.text("abcn0123", max_size=5))
def test_a_ring_stays_near_its_box(box: Box, name: str) -> None:
    left, top, right, bottom = pencil.extent(pencil.ring(box, pencil.seed(name)))
    far = 3 * SPACE
    assert box[0] - far < left < box[0]
    assert box[1] - far < top < box[1]
    assert box[2] < right < box[2] + far
    assert box[3] < bottom < box[3] + far


def test_the_same_place_looks_the_same_and_others_do_not() -> None:
    box = (0, 0, 900, 400)
    one = pencil.path(pencil.ring(box, pencil.seed("n1", "n9"))[0])
    assert one == pencil.path(pencil.ring(box, pencil.seed("n1", "n9"))[0])
    assert one != pencil.path(pencil.ring(box, pencil.seed("n1", "n8"))[0])


def test_the_hand_wavers() -> None:
    turn, again = pencil.ring((0, 0, 3000, 400), pencil.seed("n1"))
    heights = {round(y) for x, y in turn if 600 < x < 2400 and y < 0}
    assert len(heights) > 5
    assert turn != again


@given(st.integers(0, 4000), st.integers(0, 4000), st.text("ab1", max_size=4))
def test_a_line_keeps_its_ends(x: int, y: int, name: str) -> None:
    points = pencil.line((10.0, 20.0), (x, y), pencil.seed(name))
    assert math.dist(points[0], (10, 20)) <= pencil.WAVER
    assert math.dist(points[-1], (x, y)) <= pencil.WAVER


@pytest.mark.parametrize("count", [2, 3, 9])
def test_a_path_begins_and_ends_where_its_points_do(count: int) -> None:
    points = [(i * 100.0, (i % 2) * 50.0) for i in range(count)]
    path = pencil.path(points)
    assert path.startswith("M0 0")
    x, y = 0.0, 0.0
    for piece in path[1:].replace("L", "q").split("q")[1:]:
        numbers = [float(v) for v in piece.split()]
        x, y = (numbers[0], numbers[1]) if "L" in path else (x + numbers[-2], y + numbers[-1])
    assert (x, y) == points[-1]
