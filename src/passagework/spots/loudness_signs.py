"""The signs of loudness in order: levels that hold, accents that do not, and what grows or fades between.

Signs are read by `passagework.analysis.loudness_levels`, and `LEVELS` is its scale; a distance of 3 is *f* to *p*. What the loudness
curve smooths over (an accent, a crescendo that breaks off, a sign at one staff) is kept apart here. Signs that stand at a
staff other than the one that carries most of them are taken as that hand's own affair and left out,
unless that staff carries nearly as many and others (then they are one row, as where a file spreads them over
the staves).
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from typing import Literal

from passagework.analysis.loudness_levels import SIGNS, read_sign, spelled, without_glyphs
from passagework.score.piece import Piece, Position

LEVELS = {name: level for level, name in enumerate(SIGNS)}
NAMES = {level: name for name, level in LEVELS.items()}

SMALL_SHARE = 0.5
"""Signs of the less used staff count where they are at least this share of the other's."""

_IN_WORDS = re.compile(r"(?<![\w.])(p{1,4}|f{1,4}|mp|mf|s?fp|sfz?|fz)(?![\w.])")
_COMPARED = re.compile(r"\b(?:pi[uù]|meno|poco|quasi|m\.|un po'?)\s*$", re.IGNORECASE)
_SUBITO = re.compile(r"\bsub(?:ito|\.|$)", re.IGNORECASE)
_GROWS = re.compile(r"\bcresc|\bwachsend|\banschwellend|\ben augmentant", re.IGNORECASE)
_FADES = re.compile(
    r"\bdim(?:\.|in)|\bdecresc|\bmorendo|\bperdendo|\bsmorz|\bcalando|\babnehmend|\ben diminuant",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign at `onset`: a level that holds, an accent, or both (*fp*: an accent, then the level)."""

    id: str
    onset: Position
    bar: int
    staff: int
    text: str
    level: int | None
    accent: bool = False
    subito: bool = False


@dataclass(frozen=True, slots=True)
class Slope:
    """Where the sound grows or fades; `end` is None where only a word says so."""

    onset: Position
    end: Position | None
    kind: Literal["crescendo", "diminuendo"]


def parse_sign(text: str) -> tuple[int | None, bool] | None:
    """(level, accent) of a sign's letters, None for what is no sign of loudness."""
    sign = read_sign(spelled(text))
    if sign is None:
        return None
    level = None if sign.level is None else round(sign.level)
    return level, bool(sign.attack_steps) or sign.attack_level is not None


def signs(piece: Piece) -> list[Sign]:
    """The signs of `piece` in order, one at a position (of two the louder, as it carries the tune)."""
    rows = _raw(piece)
    counts = Counter(row.staff for row in rows)
    if len(counts) > 1:
        (main, most), (_, second), *_ = counts.most_common()
        if second < SMALL_SHARE * most:
            rows = [row for row in rows if row.staff == main]
        elif _doubled(rows):
            rows = [row for row in rows if row.staff == min(counts)]
    result: list[Sign] = []
    for row in sorted(rows, key=lambda s: (s.onset, s.level is None, -(s.level or 0))):
        if result and result[-1].onset == row.onset and row.level is not None:
            continue
        result.append(row)
    return result


def _doubled(rows: list[Sign]) -> bool:
    """Whether the lower staves mostly repeat the signs of the upper one, as some files have it."""
    upper = min(row.staff for row in rows)
    own = {(row.onset, row.text) for row in rows if row.staff == upper}
    others = [row for row in rows if row.staff != upper]
    return sum((row.onset, row.text) in own for row in others) >= SMALL_SHARE * len(others)


def _raw(piece: Piece) -> list[Sign]:
    sudden = {w.onset for w in piece.words if _SUBITO.search(w.text)}
    rows: list[Sign] = []
    for mark in piece.dynamics:
        parsed = parse_sign(mark.text)
        if parsed is not None:
            level, accent = parsed
            near = mark.onset in sudden
            text = spelled(mark.text)
            rows.append(Sign(mark.id, mark.onset, mark.bar, mark.staff, text, level, accent, near))
    for words in piece.words:
        text = without_glyphs(words.text)
        for match in _IN_WORDS.finditer(text):
            parsed = parse_sign(match[1])
            if parsed is not None and not _COMPARED.search(text[: match.start()]):
                level, accent = parsed
                near = words.onset in sudden
                rows.append(
                    Sign(
                        words.id, words.onset, words.bar, words.staff, match[1], level, accent, near
                    )
                )
    return rows


def slopes(piece: Piece) -> list[Slope]:
    """Hairpins and words that grow or fade, in order."""
    rows = [Slope(h.onset, h.end, h.kind) for h in piece.hairpins]
    for onset, text in [(w.onset, w.text) for w in piece.words] + [
        (d.onset, d.text) for d in piece.dynamics
    ]:
        if _GROWS.search(text):
            rows.append(Slope(onset, None, "crescendo"))
        if _FADES.search(text):
            rows.append(Slope(onset, None, "diminuendo"))
    return sorted(rows, key=lambda s: s.onset)
