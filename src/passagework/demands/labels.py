"""The order of a teacher's levels, from their names alone.

In this order: the order that is given; numbers as numbers; Roman numerals as numbers; words that everybody orders alike (`LADDER`,
with *early* and *late*, *very* before them); else by letters, with the numbers in them as numbers, so that Grade 2 comes before
Grade 10. Case and spaces do not matter. What is ordered by letters alone may be wrong, and `Order.sure` says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

LADDER: tuple[frozenset[str], ...] = (
    frozenset({"preparatory", "prep", "primer", "pre-reading", "first steps", "initial", "novice"}),
    frozenset({"beginner", "beginners", "beginning", "anfänger", "débutant", "principiante"}),
    frozenset({"elementary", "easy", "simple", "leicht", "einfach", "facile", "low", "lower"}),
    frozenset({"intermediate", "medium", "moderate", "middle", "mittel", "mittelschwer", "moyen", "medio"}),
    frozenset({"advanced", "hard", "difficult", "upper", "high", "higher", "schwer", "schwierig", "difficile", "avancé"}),
    frozenset({"diploma", "professional", "concert", "virtuoso", "expert"}),
)  # fmt: skip
"""Words for levels, easiest first. Words of one step are not told apart."""

BEFORE = {"very": 0.0, "sehr": 0.0, "très": 0.0, "molto": 0.0, "early": -0.3, "lower": -0.3, "low": -0.3, "upper": 0.3,
          "late": 0.3, "high": 0.3, "higher": 0.3}  # fmt: skip
"""Words before them, and by how much of a step they move it; *very* moves away from the middle of the ladder."""

VERY = 0.4

ROMAN = {"i": 1, "v": 5, "x": 10}


@dataclass(frozen=True, slots=True)
class Order:
    """Levels, easiest first."""

    levels: tuple[str, ...]
    sure: bool = True
    """False where only the letters of their names put them in order."""

    def index(self, label: str) -> int:
        """Place of a level. Raises `KeyError` for one that is not among them."""
        for at, level in enumerate(self.levels):
            if plain(level) == plain(label):
                return at
        raise KeyError(label)


def order_labels(labels: Iterable[str], given: Sequence[str] | None = None) -> Order:
    """The levels among `labels`, easiest first, each once and as it was first written.

    `given` is their order where the teacher states it; levels in it that no label names are left out. Raises `ValueError` where a
    label is not in it or stands in it twice.
    """
    found: dict[str, str] = {}
    for label in labels:
        found.setdefault(plain(label), label.strip())
    if given is not None:
        return Order(_as_given(found, given))
    for value in (_number, _roman, _word):
        values = {key: value(key) for key in found}
        known = {key: number for key, number in values.items() if number is not None}
        if known and len(known) == len(found):
            rows = sorted(found, key=lambda k: (known[k], k))
            return Order(tuple(found[k] for k in rows))
    keys = sorted(found, key=_natural)
    numbered = all(re.search(r"\d", key) for key in found)
    same = len({re.sub(r"\d+", "", key) for key in found}) == 1
    letters = all(len(key) == 1 for key in found)
    return Order(tuple(found[k] for k in keys), sure=(numbered and same) or letters)


def plain(label: str) -> str:
    """A label without differences of case and space."""
    return " ".join(label.casefold().split())


def _as_given(found: dict[str, str], given: Sequence[str]) -> tuple[str, ...]:
    order = [plain(g) for g in given]
    if len(set(order)) != len(order):
        raise ValueError("a level stands twice in the order that was given")
    missing = [label for key, label in found.items() if key not in order]
    if missing:
        raise ValueError(f"the level {missing[0]!r} is not in the order that was given")
    return tuple(found[key] for key in order if key in found)


def _number(key: str) -> float | None:
    try:
        value = float(key.replace(",", "."))
    except ValueError:
        return None
    return value if value == value and abs(value) != float("inf") else None


def _roman(key: str) -> float | None:
    if not re.fullmatch(r"x{0,3}(ix|iv|v?i{0,3})", key) or not key:
        return None
    total = 0
    for letter, after in zip(key, [*key[1:], ""], strict=True):
        value = ROMAN[letter]
        total += -value if after and ROMAN[after] > value else value
    return float(total)


def _word(key: str) -> float | None:
    words = re.split(r"[\s_/-]+", key)
    for at, step in enumerate(LADDER):
        if key in step:
            return float(at)
        if words[-1] in step and all(w in BEFORE for w in words[:-1]):
            moved = sum(BEFORE[w] for w in words[:-1])
            very = sum(BEFORE[w] == 0.0 for w in words[:-1]) * VERY
            return at + moved + (very if at >= len(LADDER) / 2 else -very)
    return None


def _natural(key: str) -> list[tuple[int, float, str]]:
    return [
        (0, float(part), "") if part.isdecimal() else (1, 0.0, part)
        for part in re.split(r"(\d+)", key)
        if part
    ]
