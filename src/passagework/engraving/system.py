"""What the engraver hands over: one system of music, its drawing and the places of its notes.

Everything is plain data, so that it can cross from the worker's process as JSON.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

Box = tuple[int, int, int, int]
"""Left, top, right, bottom in units; y grows downwards as in SVG."""


def union(boxes: list[Box]) -> Box:
    """The smallest box around `boxes` (at least one)."""
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def grown(box: Box, x: int, y: int) -> Box:
    """`box` with `x` added left and right, and `y` above and below."""
    return (box[0] - x, box[1] - y, box[2] + x, box[3] + y)


def overlap(a: Box, b: Box) -> bool:
    """Whether two boxes share an inner point."""
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


@dataclass(frozen=True, slots=True)
class NotePlace:
    """Where one note (or rest) stands on its system."""

    head: Box
    """The notehead alone."""
    full: Box
    """Head, accidental, dots, stem and flag."""
    staff: int
    """The staff on which it is drawn, 0 for the upper one."""


@dataclass(frozen=True, slots=True)
class MeasurePlace:
    """Where one bar stands on its system: its id in the notation and its left and right edge."""

    id: str
    left: int
    right: int


@dataclass(frozen=True)
class EngravedSystem:
    """One system as drawn, before any mark.

    `body` is SVG in units: notes are groups with their own ids, and every group that belongs to
    notes (a chord's stem, a beam, a slur) has a key as id, ``~1``, ``~2`` ..., listed in `members`.
    """

    body: str
    ink: Box
    """The smallest box around everything drawn."""
    staves: tuple[tuple[int, int], ...]
    """Top and bottom line of every staff, from above."""
    edges: tuple[int, int]
    """Left and right end of the staff lines."""
    measures: tuple[MeasurePlace, ...]
    notes: dict[str, NotePlace]
    members: dict[str, tuple[str, ...]]
    obstacles: tuple[Box, ...]
    """Boxes of everything drawn except the staff lines: what a mark had better not cover."""
    glyphs: frozenset[str]
    """Names of the music characters that `body` uses."""

    @classmethod
    def from_json(cls, data: dict[str, Any]) -> EngravedSystem:
        """The system that `to_json` wrote."""
        return cls(
            body=data["body"],
            ink=_box(data["ink"]),
            staves=tuple((int(a), int(b)) for a, b in data["staves"]),
            edges=(data["edges"][0], data["edges"][1]),
            measures=tuple(MeasurePlace(*row) for row in data["measures"]),
            notes={
                key: NotePlace(_box(row[0:4]), _box(row[4:8]), row[8])
                for key, row in data["notes"].items()
            },
            members={key: tuple(ids) for key, ids in data["members"].items()},
            obstacles=tuple(_box(row) for row in data["obstacles"]),
            glyphs=frozenset(data["glyphs"]),
        )

    def to_json(self) -> dict[str, Any]:
        """Plain data for the way between processes."""
        return {
            "body": self.body,
            "ink": self.ink,
            "staves": self.staves,
            "edges": self.edges,
            "measures": [(m.id, m.left, m.right) for m in self.measures],
            "notes": {k: (*p.head, *p.full, p.staff) for k, p in self.notes.items()},
            "members": self.members,
            "obstacles": self.obstacles,
            "glyphs": sorted(self.glyphs),
        }


@dataclass(frozen=True)
class Engraving:
    """Engraved music: its systems, and the outlines of the music characters they use."""

    systems: tuple[EngravedSystem, ...]
    outlines: dict[str, str] = field(default_factory=dict)
    """SVG path data of every music character, 1000 units to a staff's height, y upwards."""


def _box(row: Any) -> Box:
    return (int(row[0]), int(row[1]), int(row[2]), int(row[3]))
