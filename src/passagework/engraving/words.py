"""Widths of words in a book face, near enough to place what stands beside them.

No font is measured: the reader's own serif is not known here. The classes are those of a Times-like
face, in ems, which is narrower than most; `SAFETY` allows for a wider one.
"""

from __future__ import annotations

from typing import Final

NARROW: Final = 0.28
"""Ems of ``i``, ``l``, ``t`` and most punctuation."""
MIDDLE: Final = 0.48
"""Ems of most small letters and of figures."""
WIDE: Final = 0.72
"""Ems of capitals."""
WIDEST: Final = 0.85
"""Ems of ``m``, ``w``, ``M`` and ``W``."""
SAFETY: Final = 1.08

_NARROW = set("iljtfrI.,;:'!|()[]/ -\u00a0\u2019")
_WIDEST = set("mwMW\u2014")


def width(text: str, size: float) -> float:
    """Width of `text` set in `size` (any unit; the width is in the same)."""
    ems = 0.0
    for c in text:
        if c in _NARROW:
            ems += NARROW
        elif c in _WIDEST:
            ems += WIDEST
        elif c.isupper():
            ems += WIDE
        else:
            ems += MIDDLE
    return ems * size * SAFETY
