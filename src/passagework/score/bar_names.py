"""Bars in words, as printed: runs gathered, the pickup and unnumbered bars called what they are."""

from __future__ import annotations

import re
from collections.abc import Sequence

from passagework.score.piece import Piece

PRINTED = re.compile(r"\d+[a-z]?")
"""A number that can stand over a bar. Files call part-bars ``X1``; no page does."""

ORDINALS = ("", "second ", "third ", "fourth ", "fifth ")

PICKUP = "the pickup"


def bar_names(piece: Piece, indices: Sequence[int]) -> str:
    """Bars of `piece` in words: ``"bar 12"``, ``"bars 3, 7 and 12 to 14"``, ``"the pickup and bar 1"``,
    ``"the unnumbered bar after bar 35"``.
    """
    wanted = sorted(set(indices))
    pickup = [PICKUP] if wanted and _is_pickup(piece, wanted[0]) else []
    runs: list[list[int]] = []
    for index in wanted[len(pickup) :]:
        if runs and index == runs[-1][1] + 1:
            runs[-1][1] = index
        else:
            runs.append([index, index])
    parts: list[str] = []
    unnumbered: list[str] = []
    for low, high in runs:
        labels = [
            piece.bars[i].label
            for i in range(low, high + 1)
            if PRINTED.fullmatch(piece.bars[i].label)
        ]
        if not labels:
            unnumbered.append(_unnumbered(piece, low, high))
        elif len(labels) <= 2:
            parts += labels
        else:
            parts.append(f"{labels[0]} to {labels[-1]}")
    named = []
    if parts:
        word = "bar" if len(parts) == 1 and " to " not in parts[0] else "bars"
        named = [f"{word} {_and(parts)}"]
    return _and([*pickup, *named, *unnumbered])


def _is_pickup(piece: Piece, index: int) -> bool:
    """Whether that bar is the upbeat at the head, which pages leave unnumbered or files call 0."""
    bar = piece.bars[index]
    return index == 0 and bar.pickup and (bar.number == "0" or not PRINTED.fullmatch(bar.number))


def _unnumbered(piece: Piece, low: int, high: int) -> str:
    before = next((i for i in range(low, -1, -1) if PRINTED.fullmatch(piece.bars[i].number)), None)
    if before is None:
        return f"bar {piece.bars[low].label}" if low else "the unnumbered bar at the beginning"
    label = piece.bars[before].label
    if low < high:
        return f"the unnumbered bars after bar {label}"
    place = ORDINALS[low - before - 1] if low - before <= len(ORDINALS) else f"{low - before}th "
    return f"the {place}unnumbered bar after bar {label}"


def _and(parts: Sequence[str]) -> str:
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]
