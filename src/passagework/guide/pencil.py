"""Strokes that look drawn by hand, always the same for the same place."""

from __future__ import annotations

from hashlib import blake2b

GRAPHITE = "#4a4a4a"
HAIRLINE = "#c9c4b8"
INK = "#1d1b18"


def wobble(*key: object) -> list[float]:
    """Eight numbers from -1 to 1 that depend on `key` alone."""
    digest = blake2b(repr(key).encode(), digest_size=8).digest()
    return [byte / 127.5 - 1.0 for byte in digest]


def hatch(x: float, y: float, width: float, height: float, strokes: int, *key: object) -> str:
    """SVG path data of `strokes` slanting pencil strokes that fill a box (top left corner x, y)."""
    parts: list[str] = []
    gap = width / max(strokes, 1)
    slant = min(height * 0.28, 4.0)
    for index in range(strokes):
        shake = wobble(*key, index)
        foot = x + gap * (index + 0.5) - slant / 2 + shake[0] * 0.5
        low = y + height - 1 + shake[1] * 0.8
        high = y + 1 + shake[2] * 0.8
        bend = shake[3] * 0.6
        parts.append(
            f"M{foot:.1f} {low:.1f}q{slant / 2 + bend:.1f} {(high - low) / 2:.1f} "
            f"{slant:.1f} {high - low:.1f}"
        )
    return "".join(parts)


def ring(cx: float, cy: float, radius: float, *key: object) -> str:
    """SVG path data of a small circle drawn in one go, its ends overlapping a little."""
    s = [v * radius * 0.08 for v in wobble(*key)]
    k = radius * 0.5523
    r = radius
    return (
        f"M{cx - r + s[0]:.2f} {cy + s[1]:.2f}"
        f"C{cx - r + s[2]:.2f} {cy - k:.2f} {cx - k:.2f} {cy - r + s[3]:.2f} {cx:.2f} {cy - r:.2f}"
        f"C{cx + k:.2f} {cy - r + s[4]:.2f} {cx + r:.2f} {cy - k:.2f} {cx + r + s[5]:.2f} {cy:.2f}"
        f"C{cx + r:.2f} {cy + k:.2f} {cx + k:.2f} {cy + r + s[6]:.2f} {cx:.2f} {cy + r:.2f}"
        f"C{cx - k:.2f} {cy + r:.2f} {cx - r:.2f} {cy + k:.2f} {cx - r + s[7]:.2f} {cy - s[1]:.2f}"
    )
