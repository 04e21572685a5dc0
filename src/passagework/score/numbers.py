"""Numbers as they stand in a file, believed only where they can be meant."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

LONGEST_NUMBER = 24
"""Characters of the longest number read."""

REMEMBERED = 4096
"""Different texts remembered; a score repeats a few dozen numbers thousands of times."""


@lru_cache(maxsize=REMEMBERED)
def number(text: str | None) -> Fraction | None:
    """`text` as an exact number, or None where it is not one of a believable size."""
    text = (text or "").strip()
    if not text or len(text) > LONGEST_NUMBER or not text.isascii():
        return None
    body = text[1:] if text[0] in "+-" else text
    if not body.replace(".", "", 1).isdigit():
        return None
    return Fraction(text)


def whole(text: str | None) -> int | None:
    """`text` as a whole number, or None."""
    value = number(text)
    return value.numerator if value is not None and value.denominator == 1 else None
