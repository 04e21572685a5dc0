"""From a `Notation` to finished pictures of it.

Everything is done in two steps, and each can be taken alone:

1. `Engraver.start(notation, layout)` engraves in a process beside this one and gives a `Pending`
   at once; `Pending.result()` waits for the `Engraving`. This is the slow step: about 0.4 s
   for 1,000 notes.
2. `draw(engraving, layout, marks)` lays marks over it: milliseconds, and again for other marks.

`render_score` and `render_excerpt` do both, with one shared process that is started when first needed.
"""

from __future__ import annotations

import atexit
import os
import threading
from collections.abc import Sequence

from passagework.engraving.draw import System, draw
from passagework.engraving.layout import Layout
from passagework.engraving.marks import Mark
from passagework.engraving.process import Engraver, Pending
from passagework.score.cut import cut
from passagework.score.notation import Notation

EXCERPT = Layout(width_mm=150.0, margin_mm=1.0)
"""An excerpt: no margin for numbers."""

_lock = threading.Lock()
_shared: tuple[int, Engraver] | None = None


def shared_engraver() -> Engraver:
    """The engraver that everything here uses unless it is given one. Its process starts when needed."""
    global _shared
    with _lock:
        if _shared is None or _shared[0] != os.getpid():
            _shared = (os.getpid(), Engraver())
            atexit.register(_shared[1].close)
        return _shared[1]


def start_score(
    notation: Notation, layout: Layout | None = None, engraver: Engraver | None = None
) -> Pending:
    """Begin to engrave the whole of `notation` and return at once."""
    return (engraver or shared_engraver()).start(notation, layout or Layout())


def start_excerpt(
    notation: Notation,
    first_bar: int,
    last_bar: int,
    layout: Layout = EXCERPT,
    engraver: Engraver | None = None,
) -> Pending:
    """Begin to engrave bars `first_bar` to `last_bar` (indices, both included) and return at once."""
    part = cut(notation, first_bar, last_bar)
    return (engraver or shared_engraver()).start(part, layout, natural=True)


def render_score(
    notation: Notation,
    width_mm: float = 180.0,
    marks: Sequence[Mark] = (),
    *,
    layout: Layout | None = None,
    engraver: Engraver | None = None,
) -> list[System]:
    """The whole score as systems `width_mm` wide (or as `layout` says), marked.

    Raises `EngravingError` where the engraver fails or takes too long.
    """
    layout = layout or Layout(width_mm=width_mm)
    return draw(start_score(notation, layout, engraver).result(), layout, marks)


def render_excerpt(
    notation: Notation,
    first_bar: int,
    last_bar: int,
    marks: Sequence[Mark] = (),
    *,
    layout: Layout = EXCERPT,
    engraver: Engraver | None = None,
) -> list[System]:
    """Bars `first_bar` to `last_bar` (indices, both included) in one or a few systems, marked.

    A single system that does not fill the width keeps its own: its `System.width_mm` is then less
    than the layout's. Raises `EngravingError` as `render_score` does, `ValueError` for bars that
    are not there.
    """
    pending = start_excerpt(notation, first_bar, last_bar, layout, engraver)
    return draw(pending.result(), layout, marks, shrink=True)


def render_notation(
    notation: Notation,
    marks: Sequence[Mark] = (),
    *,
    layout: Layout = EXCERPT,
    engraver: Engraver | None = None,
) -> list[System]:
    """A short notation (a step of an exercise) as `render_excerpt` draws one."""
    pending = (engraver or shared_engraver()).start(notation, layout, natural=True)
    return draw(pending.result(), layout, marks, shrink=True)
