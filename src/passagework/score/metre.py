"""Metres: what a ``time`` element says."""

from __future__ import annotations

import re
from dataclasses import replace

from passagework.score.markup import Element
from passagework.score.numbers import number
from passagework.score.piece import TimeSignature

COMMON_TIME = TimeSignature((4,), 4, printed=False)
"""The metre assumed where a file gives none."""

BEAT_TYPES = frozenset({1, 2, 4, 8, 16, 32, 64})

MOST_BEATS = 64
"""Largest numerator believed."""

_WHOLE = re.compile(r"[0-9]{1,3}")


def read_time(node: Element, now: TimeSignature) -> TimeSignature | None:
    """The metre of a ``time`` element; `now` where it names none, None where its numbers are no metre."""
    if node.find("senza-misura") is not None:
        return replace(now, printed=False)
    groups: list[tuple[tuple[int, ...], int]] = []
    for beats, kind in zip(node.findall("beats"), node.findall("beat-type"), strict=False):
        numerator = tuple(
            int(part) for part in _WHOLE.findall(beats.text or "") if 0 < int(part) <= MOST_BEATS
        )
        denominator = number(kind.text)
        if not numerator or denominator not in BEAT_TYPES:
            return None
        groups.append((numerator, int(denominator)))
    if not groups:
        return now
    finest = max(kind for _, kind in groups)
    total = tuple(part * finest // kind for beats, kind in groups for part in beats)
    symbol = node.get("symbol")
    return TimeSignature(total, finest, symbol if symbol in {"common", "cut"} else None)
